#include "plugins/notifiers/webpush/base64url.h"

namespace coilward_plugins {
namespace {

constexpr std::string_view kUrlDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

}  // namespace

std::string base64url(std::string_view bytes) {
  std::string text;
  unsigned held = 0, bits = 0;
  for (const char c : bytes) {
    held = held << 8 | static_cast<unsigned char>(c);
    for (bits += 8; bits >= 6; bits -= 6) text += kUrlDigits[held >> (bits - 6) & 63];
  }
  if (bits > 0) text += kUrlDigits[held << (6 - bits) & 63];
  return text;
}

std::optional<std::string> base64url_bytes(std::string_view text) {
  while (text.ends_with('=')) text.remove_suffix(1);
  if (text.size() % 4 == 1) return std::nullopt;
  std::string bytes;
  unsigned held = 0, bits = 0;
  for (const char c : text) {
    const auto digit = kUrlDigits.find(c);
    if (digit == std::string_view::npos) return std::nullopt;
    held = held << 6 | static_cast<unsigned>(digit);
    if ((bits += 6) >= 8) bytes += static_cast<char>(held >> (bits -= 8) & 255);
  }
  return bytes;
}

}  // namespace coilward_plugins
