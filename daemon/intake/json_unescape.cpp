#include <algorithm>

#include "daemon/intake/find_either.h"
#include "daemon/intake/recording_scan.h"

namespace coilward {
namespace {

bool hex4(std::string_view text, std::uint32_t& value) {
  if (text.size() < 4) return false;
  value = 0;
  for (int i = 0; i < 4; ++i) {
    const char c = text[i];
    const int digit = c >= '0' && c <= '9'   ? c - '0'
                      : c >= 'a' && c <= 'f' ? c - 'a' + 10
                      : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                             : -1;
    if (digit < 0) return false;
    value = value * 16 + static_cast<std::uint32_t>(digit);
  }
  return true;
}

void put_utf8(std::string& out, std::uint32_t code) {
  const auto tail = [&](int shift) { out += static_cast<char>(0x80 | ((code >> shift) & 0x3F)); };
  if (code < 0x80) {
    out += static_cast<char>(code);
  } else if (code < 0x800) {
    out += static_cast<char>(0xC0 | (code >> 6));
    tail(0);
  } else if (code < 0x10000) {
    out += static_cast<char>(0xE0 | (code >> 12));
    tail(6), tail(0);
  } else {
    out += static_cast<char>(0xF0 | (code >> 18));
    tail(12), tail(6), tail(0);
  }
}

bool high_surrogate(std::uint32_t code) { return code >= 0xD800 && code <= 0xDBFF; }
bool low_surrogate(std::uint32_t code) { return code >= 0xDC00 && code <= 0xDFFF; }

// `rest` stands after "\u".
bool take_unicode(std::string_view& rest, std::string& out) {
  std::uint32_t code = 0, second = 0;
  if (!hex4(rest, code)) return false;
  rest.remove_prefix(4);
  if (high_surrogate(code) && rest.substr(0, 2) == "\\u" && hex4(rest.substr(2), second) &&
      low_surrogate(second)) {
    rest.remove_prefix(6);
    code = 0x10000 + ((code - 0xD800) << 10) + (second - 0xDC00);
  }
  if (code >= 0xDC80 && code <= 0xDCFF) {
    out += static_cast<char>(code - 0xDC00);
  } else {
    put_utf8(out, code);
  }
  return true;
}

char simple_escape(char c) {
  switch (c) {
    case '"':
    case '\\':
    case '/':
      return c;
    case 'b':
      return '\b';
    case 'f':
      return '\f';
    case 'n':
      return '\n';
    case 'r':
      return '\r';
    case 't':
      return '\t';
    default:
      return 0;
  }
}

}  // namespace

// Eight bytes are copied at once and only as many kept as come before the next backslash: what is between two
// escapes is too short for a call of memcpy to pay. What comes out is never longer than what goes in.
bool unescape_json(std::string_view inside, std::string& out) {
  out.resize(inside.size() + sizeof(std::uint64_t));
  char* to = out.data();
  std::string unicode;
  while (!inside.empty()) {
    if (inside.size() >= sizeof(std::uint64_t)) {
      const std::uint64_t word = eight_bytes(inside.data());
      std::memcpy(to, &word, sizeof word);
      const std::uint64_t slashes = bytes_that_are<'\\', '\\'>(word);
      const std::size_t plain = slashes ? std::countr_zero(slashes) / 8 : sizeof word;
      to += plain;
      inside.remove_prefix(plain);
      if (!slashes) continue;
    } else if (inside.front() != '\\') {
      *to++ = inside.front();
      inside.remove_prefix(1);
      continue;
    }
    inside.remove_prefix(1);
    const char simple = inside.empty() ? '\0' : simple_escape(inside.front());
    if (simple != 0) {
      *to++ = simple;
      inside.remove_prefix(1);
      continue;
    }
    unicode.clear();
    if (inside.empty() || inside.front() != 'u') return false;
    inside.remove_prefix(1);
    if (!take_unicode(inside, unicode)) return false;
    to = std::copy(unicode.begin(), unicode.end(), to);
  }
  out.resize(static_cast<std::size_t>(to - out.data()));
  return true;
}

}  // namespace coilward
