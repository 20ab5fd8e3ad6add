#include "daemon/login/secret.h"

#include <sodium.h>

#include <array>
#include <cstdlib>

namespace coilward {
namespace {

// A program that cannot have random numbers must not make secrets.
void need_sodium() {
  static const bool ready = sodium_init() >= 0;
  if (!ready) std::abort();
}

constexpr std::string_view kLetters = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ";  // 32, without 0 O 1 I

template <std::size_t bytes>
std::string random_text() {
  need_sodium();
  std::array<unsigned char, bytes> random;
  randombytes_buf(random.data(), random.size());
  std::array<char, sodium_base64_ENCODED_LEN(bytes, sodium_base64_VARIANT_URLSAFE_NO_PADDING)> text;
  return sodium_bin2base64(text.data(), text.size(), random.data(), random.size(),
                           sodium_base64_VARIANT_URLSAFE_NO_PADDING);
}

std::string blake2b(std::string_view text, std::string_view key) {
  need_sodium();
  std::array<unsigned char, 32> hash;
  crypto_generichash(hash.data(), hash.size(), reinterpret_cast<const unsigned char*>(text.data()),
                     text.size(), reinterpret_cast<const unsigned char*>(key.data()), key.size());
  std::array<char, 2 * hash.size() + 1> hex;
  return sodium_bin2hex(hex.data(), hex.size(), hash.data(), hash.size());
}

}  // namespace

std::string random_secret() { return random_text<32>(); }
std::string random_token() { return random_text<16>(); }
std::string kept_form(std::string_view secret) { return blake2b(secret, {}); }

// Keyed, so that it is no hash that is kept anywhere. A key has 16 to 64 bytes.
std::string derived_secret(std::string_view secret, std::string_view purpose) {
  return blake2b(purpose, secret.substr(0, crypto_generichash_KEYBYTES_MAX)).substr(0, 32);
}

bool same_secret(std::string_view a, std::string_view b) {
  const std::string left = kept_form(a), right = kept_form(b);
  return !a.empty() && sodium_memcmp(left.data(), right.data(), left.size()) == 0;
}

std::string set_up_code() {
  need_sodium();
  std::string code;
  for (int i = 0; i < 12; ++i) {
    if (i > 0 && i % 4 == 0) code += '-';
    code += kLetters[randombytes_uniform(static_cast<std::uint32_t>(kLetters.size()))];
  }
  return code;
}

std::string plain_code(std::string_view typed) {
  std::string code;
  for (const char c : typed)
    if (c != '-' && c != ' ') code += c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
  return code;
}

}  // namespace coilward
