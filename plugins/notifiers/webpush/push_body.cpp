#include "plugins/notifiers/webpush/push_body.h"

#include <openssl/core_names.h>
#include <openssl/kdf.h>
#include <openssl/params.h>
#include <openssl/rand.h>

#include <stdexcept>

namespace coilward_plugins {
namespace {

constexpr std::size_t kTagSize = 16, kKeySize = 16, kNonceSize = 12;

struct FreeContext {
  void operator()(EVP_KDF* kdf) const { EVP_KDF_free(kdf); }
  void operator()(EVP_KDF_CTX* context) const { EVP_KDF_CTX_free(context); }
  void operator()(EVP_CIPHER_CTX* context) const { EVP_CIPHER_CTX_free(context); }
};

void must(bool ok) {
  if (!ok) throw std::runtime_error("OpenSSL cannot encrypt");
}

OSSL_PARAM octet_param(const char* name, std::string_view bytes) {
  return OSSL_PARAM_construct_octet_string(name, const_cast<char*>(bytes.data()), bytes.size());
}

// HKDF-SHA-256 (RFC 5869), extract and expand.
std::string hkdf(std::string_view salt, std::string_view key, std::string_view info, std::size_t size) {
  const std::unique_ptr<EVP_KDF, FreeContext> kdf(EVP_KDF_fetch(nullptr, "HKDF", nullptr));
  const std::unique_ptr<EVP_KDF_CTX, FreeContext> context(EVP_KDF_CTX_new(kdf.get()));
  char digest[] = "SHA256";
  const OSSL_PARAM params[] = {OSSL_PARAM_construct_utf8_string(OSSL_KDF_PARAM_DIGEST, digest, 0),
                               octet_param(OSSL_KDF_PARAM_SALT, salt), octet_param(OSSL_KDF_PARAM_KEY, key),
                               octet_param(OSSL_KDF_PARAM_INFO, info), OSSL_PARAM_construct_end()};
  std::string out(size, '\0');
  must(EVP_KDF_derive(context.get(), reinterpret_cast<unsigned char*>(out.data()), size, params) == 1);
  return out;
}

std::string sealed(std::string_view key, std::string_view nonce, std::string_view plain) {
  const auto in = [](std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); };
  const std::unique_ptr<EVP_CIPHER_CTX, FreeContext> context(EVP_CIPHER_CTX_new());
  std::string out(plain.size() + kTagSize, '\0');
  auto* const to = reinterpret_cast<unsigned char*>(out.data());
  int size = 0, rest = 0;
  must(EVP_EncryptInit_ex(context.get(), EVP_aes_128_gcm(), nullptr, in(key), in(nonce)) == 1);
  must(EVP_EncryptUpdate(context.get(), to, &size, in(plain), static_cast<int>(plain.size())) == 1);
  must(EVP_EncryptFinal_ex(context.get(), to + size, &rest) == 1);
  must(EVP_CIPHER_CTX_ctrl(context.get(), EVP_CTRL_GCM_GET_TAG, kTagSize, to + plain.size()) == 1);
  return out;
}

// RFC 8188 section 2.1: salt, record size, length of the key id, key id.
std::string header(std::string_view salt, std::string_view key_id) {
  std::string out(salt);
  for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(kRecordSize >> shift & 255);
  out += static_cast<char>(key_id.size());
  return out += key_id;
}

std::string with_zero(std::string_view text) { return std::string(text) + '\0'; }

}  // namespace

// RFC 8291 section 3.4.
std::string push_body(std::string_view text, std::string_view phone_point, std::string_view phone_secret,
                      const PushKey& sender, std::string_view salt) {
  if (text.size() > kMostPlain) throw std::invalid_argument("longer than a push message may be");
  if (phone_secret.size() != kSecretSize) throw std::invalid_argument("the secret has not 16 octets");
  const std::string own = sender.point();
  const std::string info = with_zero("WebPush: info") + std::string(phone_point) + own;
  const std::string ikm = hkdf(phone_secret, sender.shared_with(phone_point), info, 32);
  const std::string key = hkdf(salt, ikm, with_zero("Content-Encoding: aes128gcm"), kKeySize);
  const std::string nonce = hkdf(salt, ikm, with_zero("Content-Encoding: nonce"), kNonceSize);
  return header(salt, own) + sealed(key, nonce, std::string(text) + '\2');  // 2: the last record
}

std::string push_body(std::string_view text, std::string_view phone_point, std::string_view phone_secret) {
  std::string salt(kSaltSize, '\0');
  must(RAND_bytes(reinterpret_cast<unsigned char*>(salt.data()), kSaltSize) == 1);
  return push_body(text, phone_point, phone_secret, PushKey::make(), salt);
}

}  // namespace coilward_plugins
