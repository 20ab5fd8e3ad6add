#include "daemon/web/tls_files.h"

#include <fmt/format.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>
#include <sys/stat.h>

#include <algorithm>
#include <boost/asio/ssl/context.hpp>
#include <ctime>

#include "daemon/base/log.h"

namespace coilward {
namespace {

namespace ssl = boost::asio::ssl;

std::string mark_of(const std::string& path) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0) return "none";
  return fmt::format("{} {} {}.{:09}", status.st_ino, status.st_size, status.st_mtim.tv_sec,
                     status.st_mtim.tv_nsec);
}

constexpr std::chrono::hours kLongestNotice{21 * 24};

UtcTime time_of(const ASN1_TIME* time) {
  std::tm parts{};
  return ASN1_TIME_to_tm(time, &parts) == 1 ? from_ms(1000LL * ::timegm(&parts)) : kNever;
}

Error unusable(const std::string& path, const boost::system::error_code& error) {
  return {Cause::bad_config, fmt::format("{}: {}", path, error.message())};
}

}  // namespace

Result<std::unique_ptr<TlsFiles>> TlsFiles::load(std::string certificate, std::string key) {
  std::unique_ptr<TlsFiles> files(new TlsFiles(std::move(certificate), std::move(key)));
  files->seen_ = files->seen_now();
  if (auto read = files->read(); !read) return read.error();
  return files;
}

std::string TlsFiles::seen_now() const { return mark_of(certificate_) + ", " + mark_of(key_); }

// TLS 1.2 at least, without compression (RFC 9325 sections 3.1 and 3.3); OpenSSL's own choice of ciphers.
Result<bool> TlsFiles::read() {
  auto fresh = std::make_shared<ssl::context>(ssl::context::tls_server);
  boost::system::error_code error;
  SSL_CTX_set_min_proto_version(fresh->native_handle(), TLS1_2_VERSION);
  SSL_CTX_set_options(fresh->native_handle(), SSL_OP_NO_COMPRESSION | SSL_OP_CIPHER_SERVER_PREFERENCE);
  fresh->use_certificate_chain_file(certificate_, error);
  if (error) return unusable(certificate_, error);
  fresh->use_private_key_file(key_, ssl::context::pem, error);
  if (error) return unusable(key_, error);
  const X509* certificate = SSL_CTX_get0_certificate(fresh->native_handle());
  const UtcTime begins = time_of(X509_get0_notBefore(certificate));
  ends_ = time_of(X509_get0_notAfter(certificate));
  renew_by_ = ends_ - std::min<Millis>(kLongestNotice, (ends_ - begins) / 4);
  context_ = std::move(fresh);
  return true;
}

// A pair in the middle of being written is tried again when the rest of it is there, as that changes a file.
bool TlsFiles::look() {
  std::string now = seen_now();
  if (now == seen_) return false;
  seen_ = std::move(now);
  const auto read_anew = read();
  trouble_ = read_anew ? "" : read_anew.error().what;
  if (read_anew)
    log::info("the page has a new certificate, until {}", format_rfc3339(ends_));
  else
    log::limited(log::Level::error, "certificate",
                 "the new certificate is not good, the old one stays: " + trouble_);
  return read_anew.has_value();
}

}  // namespace coilward
