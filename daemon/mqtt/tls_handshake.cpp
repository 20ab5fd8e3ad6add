#include "daemon/mqtt/tls_handshake.h"

#include <arpa/inet.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <memory>

namespace coilward {
namespace {

struct Free {
  void operator()(SSL_CTX* context) const { SSL_CTX_free(context); }
  void operator()(SSL* session) const { SSL_free(session); }
};

std::string openssl_words() {
  const unsigned long code = ERR_peek_error();
  ERR_clear_error();
  const char* reason = ERR_reason_error_string(code);
  return reason != nullptr ? reason : "the connection was closed";
}

bool is_ip_address(const std::string& host) {
  unsigned char bytes[sizeof(in6_addr)];
  return ::inet_pton(AF_INET, host.c_str(), bytes) == 1 || ::inet_pton(AF_INET6, host.c_str(), bytes) == 1;
}

void expect_name(SSL* session, const std::string& host) {
  if (is_ip_address(host)) {
    X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(session), host.c_str());
    return;
  }
  SSL_set1_host(session, host.c_str());
  SSL_set_tlsext_host_name(session, host.c_str());
}

bool trust(SSL_CTX* context, const std::string& ca_file) {
  SSL_CTX_set_verify(context, SSL_VERIFY_PEER, nullptr);
  if (ca_file.empty()) return SSL_CTX_set_default_verify_paths(context) == 1;
  return SSL_CTX_load_verify_locations(context, ca_file.c_str(), nullptr) == 1;
}

}  // namespace

std::string why_no_tls(int socket, const BrokerAddress& address, const std::string& ca_file) {
  ERR_clear_error();
  const std::unique_ptr<SSL_CTX, Free> context(SSL_CTX_new(TLS_client_method()));
  if (!context || !trust(context.get(), ca_file)) return openssl_words();
  const std::unique_ptr<SSL, Free> session(SSL_new(context.get()));
  if (!session || SSL_set_fd(session.get(), socket) != 1) return openssl_words();
  expect_name(session.get(), address.host);
  if (SSL_connect(session.get()) == 1) return {};
  const long verified = SSL_get_verify_result(session.get());
  if (verified == X509_V_OK) return openssl_words();
  ERR_clear_error();
  return X509_verify_cert_error_string(verified);
}

}  // namespace coilward
