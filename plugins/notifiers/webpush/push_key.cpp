#include "plugins/notifiers/webpush/push_key.h"

#include <fcntl.h>
#include <openssl/core_names.h>
#include <openssl/ec.h>
#include <openssl/ecdsa.h>
#include <openssl/param_build.h>
#include <openssl/pem.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <stdexcept>

namespace coilward_plugins {
namespace {

template <auto function>
struct FreeBy {
  template <class T>
  void operator()(T* what) const {
    function(what);
  }
};
using KeyContext = std::unique_ptr<EVP_PKEY_CTX, FreeBy<EVP_PKEY_CTX_free>>;
using DigestContext = std::unique_ptr<EVP_MD_CTX, FreeBy<EVP_MD_CTX_free>>;
using Number = std::unique_ptr<BIGNUM, FreeBy<BN_clear_free>>;
using Signature = std::unique_ptr<ECDSA_SIG, FreeBy<ECDSA_SIG_free>>;
using File = std::unique_ptr<FILE, FreeBy<std::fclose>>;

void need(bool ok, const char* what) {
  if (!ok) throw std::runtime_error(std::string("OpenSSL cannot ") + what);
}

const unsigned char* octets(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}
unsigned char* octets(std::string& text) { return reinterpret_cast<unsigned char*>(text.data()); }

// scalar empty: the public half alone.
EVP_PKEY* key_of(std::string_view scalar, std::string_view point) {
  if (point.size() != kPointSize) throw std::invalid_argument("a public key has 65 octets");
  const std::unique_ptr<OSSL_PARAM_BLD, FreeBy<OSSL_PARAM_BLD_free>> build(OSSL_PARAM_BLD_new());
  const Number number(scalar.empty() ? nullptr
                                     : BN_bin2bn(octets(scalar), static_cast<int>(scalar.size()), nullptr));
  OSSL_PARAM_BLD_push_utf8_string(build.get(), OSSL_PKEY_PARAM_GROUP_NAME, "P-256", 0);
  OSSL_PARAM_BLD_push_octet_string(build.get(), OSSL_PKEY_PARAM_PUB_KEY, point.data(), point.size());
  if (number) OSSL_PARAM_BLD_push_BN(build.get(), OSSL_PKEY_PARAM_PRIV_KEY, number.get());
  const std::unique_ptr<OSSL_PARAM, FreeBy<OSSL_PARAM_free>> params(OSSL_PARAM_BLD_to_param(build.get()));
  const KeyContext context(EVP_PKEY_CTX_new_from_name(nullptr, "EC", nullptr));
  EVP_PKEY* key = nullptr;
  need(EVP_PKEY_fromdata_init(context.get()) == 1, "take a key");
  const int kind = number ? EVP_PKEY_KEYPAIR : EVP_PKEY_PUBLIC_KEY;
  if (EVP_PKEY_fromdata(context.get(), &key, kind, params.get()) != 1)
    throw std::invalid_argument("that is no point of the curve P-256");
  return key;
}

}  // namespace

PushKey PushKey::make() {
  EVP_PKEY* key = EVP_PKEY_Q_keygen(nullptr, nullptr, "EC", "P-256");
  need(key != nullptr, "make a key");
  return PushKey(key);
}

PushKey PushKey::from_raw(std::string_view scalar, std::string_view point) {
  return PushKey(key_of(scalar, point));
}

PushKey PushKey::read_or_make(const std::string& path) {
  if (::access(path.c_str(), F_OK) != 0) {
    std::filesystem::create_directories(std::filesystem::path(path).parent_path());
    make().write_new(path);
  }
  return read(path);
}

PushKey PushKey::read(const std::string& path) {
  const File file(std::fopen(path.c_str(), "re"));
  if (!file) throw std::runtime_error("cannot read " + path + ": " + std::strerror(errno));
  struct stat info {};
  if (::fstat(::fileno(file.get()), &info) != 0 || (info.st_mode & (S_IRWXG | S_IRWXO)) != 0)
    throw std::runtime_error(path + " may be read by others; make it private: chmod 600 " + path);
  EVP_PKEY* key = PEM_read_PrivateKey(file.get(), nullptr, nullptr, nullptr);
  if (!key) throw std::runtime_error(path + " holds no private key");
  return PushKey(key);
}

// Whole or not at all, and never over another's: phones are bound to the key that they were told first.
void PushKey::write_new(const std::string& path) const {
  std::string temporary = path + ".XXXXXX";
  const int fd = ::mkostemp(temporary.data(), O_CLOEXEC);  // mode 0600
  if (fd < 0) throw std::runtime_error("cannot write " + path + ": " + std::strerror(errno));
  File file(::fdopen(fd, "w"));
  const bool written =
      PEM_write_PKCS8PrivateKey(file.get(), key_.get(), nullptr, nullptr, 0, nullptr, nullptr) == 1 &&
      std::fflush(file.get()) == 0 && ::fsync(fd) == 0;
  const bool kept = written && (::link(temporary.c_str(), path.c_str()) == 0 || errno == EEXIST);
  const int error = errno;
  ::unlink(temporary.c_str());
  if (!kept) throw std::runtime_error("cannot write " + path + ": " + std::strerror(error));
}

std::string PushKey::point() const {
  std::string point(kPointSize, '\0');
  std::size_t size = 0;
  need(EVP_PKEY_get_octet_string_param(key_.get(), OSSL_PKEY_PARAM_PUB_KEY, octets(point), point.size(),
                                       &size) == 1 &&
           size == kPointSize,
       "give a public key");
  return point;
}

std::string PushKey::shared_with(std::string_view point) const {
  const std::unique_ptr<EVP_PKEY, Free> other(key_of({}, point));
  const KeyContext context(EVP_PKEY_CTX_new(key_.get(), nullptr));
  std::string secret(kScalarSize, '\0');
  std::size_t size = secret.size();
  need(EVP_PKEY_derive_init(context.get()) == 1 &&
           EVP_PKEY_derive_set_peer(context.get(), other.get()) == 1 &&
           EVP_PKEY_derive(context.get(), octets(secret), &size) == 1 && size == kScalarSize,
       "agree on a secret");
  return secret;
}

std::string PushKey::sign(std::string_view text) const {
  const DigestContext context(EVP_MD_CTX_new());
  std::string der(128, '\0');  // at most 72
  std::size_t size = der.size();
  need(EVP_DigestSignInit(context.get(), nullptr, EVP_sha256(), nullptr, key_.get()) == 1 &&
           EVP_DigestSign(context.get(), octets(der), &size, octets(text), text.size()) == 1,
       "sign");
  const unsigned char* at = octets(der);
  const Signature pair(d2i_ECDSA_SIG(nullptr, &at, static_cast<long>(size)));
  std::string flat(kSignatureSize, '\0');
  need(pair && BN_bn2binpad(ECDSA_SIG_get0_r(pair.get()), octets(flat), 32) == 32 &&
           BN_bn2binpad(ECDSA_SIG_get0_s(pair.get()), octets(flat) + 32, 32) == 32,
       "sign");
  return flat;
}

bool signed_by(std::string_view point, std::string_view text, std::string_view signature) {
  if (signature.size() != kSignatureSize) return false;
  const std::unique_ptr<EVP_PKEY, FreeBy<EVP_PKEY_free>> key(key_of({}, point));
  const Signature pair(ECDSA_SIG_new());
  ECDSA_SIG_set0(pair.get(), BN_bin2bn(octets(signature), 32, nullptr),
                 BN_bin2bn(octets(signature) + 32, 32, nullptr));
  unsigned char* der = nullptr;
  const int size = i2d_ECDSA_SIG(pair.get(), &der);
  const std::string whole(reinterpret_cast<char*>(der), static_cast<std::size_t>(std::max(0, size)));
  OPENSSL_free(der);
  const DigestContext context(EVP_MD_CTX_new());
  return EVP_DigestVerifyInit(context.get(), nullptr, EVP_sha256(), nullptr, key.get()) == 1 &&
         EVP_DigestVerify(context.get(), octets(whole), whole.size(), octets(text), text.size()) == 1;
}

}  // namespace coilward_plugins
