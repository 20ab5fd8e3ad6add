// A key pair on the curve P-256: what web push encrypts with (RFC 8291 section 3.1) and signs with (RFC 8292
// section 2). Thread: any, one at a time.
#pragma once

#include <openssl/evp.h>

#include <memory>
#include <string>
#include <string_view>

namespace coilward_plugins {

inline constexpr std::size_t kPointSize = 65;      // uncompressed: 4, x, y
inline constexpr std::size_t kScalarSize = 32;     // a private key
inline constexpr std::size_t kSignatureSize = 64;  // r and s (RFC 7518 section 3.4)

// Every function throws std::runtime_error when the library fails.
class PushKey {
 public:
  static PushKey make();
  // The two halves of a known pair.
  static PushKey from_raw(std::string_view scalar, std::string_view point);
  // PKCS #8 in PEM, mode 0600, made when there is none; of two that make it at once one wins. Refused: a file
  // that others can read.
  static PushKey read_or_make(const std::string& path);

  std::string point() const;  // the public half, kPointSize octets
  // ECDH with another's public half. std::invalid_argument: that is no point of the curve.
  std::string shared_with(std::string_view point) const;
  // ES256 (RFC 7518 section 3.4): kSignatureSize octets.
  std::string sign(std::string_view text) const;

 private:
  struct Free {
    void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
  };
  explicit PushKey(EVP_PKEY* key) : key_(key) {}
  static PushKey read(const std::string& path);
  void write_new(const std::string& path) const;
  std::unique_ptr<EVP_PKEY, Free> key_;
};

// Whether a signature of PushKey::sign is by the owner of this public half.
bool signed_by(std::string_view point, std::string_view text, std::string_view signature);

}  // namespace coilward_plugins
