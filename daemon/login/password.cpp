#include "daemon/login/password.h"

#include <sodium.h>

#include <algorithm>
#include <array>

#include "daemon/login/secret.h"

namespace coilward {
namespace {

// OWASP Password Storage Cheat Sheet: argon2id with 19 MiB, two passes, one lane at least.
constexpr std::size_t kMemoryBytes = 19u << 20;
constexpr unsigned long long kPasses = 2;
constexpr std::size_t kFewestCharacters = 10, kMostBytes = 200;

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? c + 32 : c; });
  return out;
}

// Of UTF-8: bytes that do not go on with a character.
std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::size_t different_bytes(std::string text) {
  std::sort(text.begin(), text.end());
  return static_cast<std::size_t>(std::unique(text.begin(), text.end()) - text.begin());
}

}  // namespace

std::optional<std::string> password_fault(std::string_view password, std::string_view name) {
  if (characters(password) < kFewestCharacters) return "a password has at least 10 characters";
  if (password.size() > kMostBytes) return "a password has at most 200 bytes";
  if (password.find_first_of(std::string_view("\0\r\n", 3)) != std::string_view::npos)
    return "a password is one line";
  if (different_bytes(std::string(password)) < 4)
    return "a password of so few different characters is guessed";
  const std::string said = lower(password);
  for (const std::string& guessed : {lower(name), std::string("coilward"), std::string("password")})
    if (guessed.size() >= 3 && said.find(guessed) != std::string::npos && said.size() < guessed.size() + 6)
      return "a password that is a name with little added is guessed";
  return std::nullopt;
}

Result<std::string> hash_password(std::string_view password) {
  random_token();  // makes the library ready
  std::array<char, crypto_pwhash_STRBYTES> hash;
  if (crypto_pwhash_str_alg(hash.data(), password.data(), password.size(), kPasses, kMemoryBytes,
                            crypto_pwhash_ALG_ARGON2ID13) != 0)
    return Error{Cause::world, "there is no memory to hash a password with (19 MiB)"};
  return std::string(hash.data());
}

bool password_matches(std::string_view password, const std::string& hash) {
  random_token();
  return password.size() <= kMostBytes &&
         crypto_pwhash_str_verify(hash.c_str(), password.data(), password.size()) == 0;
}

const std::string& hash_of_nobody() {
  static const std::string hash = [] {
    const auto made = hash_password(random_secret());
    return made ? *made : std::string();
  }();
  return hash;
}

}  // namespace coilward
