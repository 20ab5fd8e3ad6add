#include "plugins/common/failure_words.h"

#include <cerrno>

namespace coilward_plugins {
namespace {

const char* kind_of_failure(CURLcode code, long os_error) {
  switch (code) {
    case CURLE_COULDNT_RESOLVE_HOST:
    case CURLE_COULDNT_RESOLVE_PROXY:
      return "no such host (DNS)";
    case CURLE_COULDNT_CONNECT:
      return os_error == ECONNREFUSED ? "connection refused" : "no connection";
    case CURLE_SSL_CONNECT_ERROR:
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
    case CURLE_SSL_CERTPROBLEM:
    case CURLE_SSL_CIPHER:
    case CURLE_SSL_ISSUER_ERROR:
    case CURLE_USE_SSL_FAILED:
      return "TLS failed";
    case CURLE_LOGIN_DENIED:
      return "login refused";
    case CURLE_OPERATION_TIMEDOUT:
      return "no answer in time";
    default:
      return nullptr;
  }
}

}  // namespace

std::string failure_words(CURLcode code, long os_error, const std::string& words) {
  const char* const kind = kind_of_failure(code, os_error);
  return kind ? std::string(kind) + ": " + words : words;
}

}  // namespace coilward_plugins
