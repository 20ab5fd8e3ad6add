#include "plugins/decoders/number/number_payload.h"

#include <charconv>
#include <cmath>

namespace coilward_plugins {
namespace {

bool is_space(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

bool same_word(std::string_view text, std::string_view lower) {
  if (text.size() != lower.size()) return false;
  for (std::size_t i = 0; i < text.size(); ++i)
    if ((text[i] | 0x20) != lower[i]) return false;
  return true;
}

std::optional<NumberPayload> parse_word(std::string_view text) {
  if (same_word(text, "on") || same_word(text, "true")) return NumberPayload{1, true};
  if (same_word(text, "off") || same_word(text, "false")) return NumberPayload{0, true};
  return std::nullopt;
}

}  // namespace

std::optional<NumberPayload> parse_number_payload(std::string_view payload) {
  std::string_view text = trimmed(payload);
  if (text.empty()) return std::nullopt;
  const bool plus = text.front() == '+';  // meters print it; from_chars does not take it
  if (plus) text.remove_prefix(1);
  const std::string_view digits = !plus && text.front() == '-' ? text.substr(1) : text;
  // from_chars takes words too: "inf", "nan".
  if (digits.empty() || !(is_digit(digits.front()) || digits.front() == '.'))
    return plus ? std::nullopt : parse_word(text);
  NumberPayload found;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), found.value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(found.value))
    return std::nullopt;
  return found;
}

}  // namespace coilward_plugins
