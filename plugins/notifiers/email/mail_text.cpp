#include "plugins/notifiers/email/mail_text.h"

#include <algorithm>
#include <array>

#include "plugins/common/secret_file.h"

namespace coilward_plugins {
namespace {

constexpr std::size_t kPlainSubject = 200;  // longer ones are folded as encoded words
constexpr std::size_t kBytesPerWord = 45;   // 60 characters of base64 and 12 of framing: at most 75

bool printable_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](unsigned char c) { return c >= 0x20 && c < 0x7f; });
}

// Length of the UTF-8 sequence at the start; 0: none.
std::size_t sequence_length(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  const std::size_t length = first < 0x80                    ? 1
                             : first >= 0xc2 && first < 0xe0 ? 2
                             : first >= 0xe0 && first < 0xf0 ? 3
                             : first >= 0xf0 && first < 0xf5 ? 4
                                                             : 0;
  if (length == 0 || length > text.size()) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((static_cast<unsigned char>(text[i]) & 0xc0) != 0x80) return 0;
  return length;
}

bool atext(char c) {
  constexpr std::string_view kMore = "!#$%&'*+-/=?^_`{|}~";
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
         kMore.find(c) != std::string_view::npos;
}

std::string one_line(std::string_view text) {
  std::string line(text);
  for (char& c : line)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
  return line;
}

}  // namespace

std::string clean_utf8(std::string_view text) {
  std::string clean;
  while (!text.empty()) {
    const std::size_t length = sequence_length(text);
    clean += length == 0 ? std::string_view("?") : text.substr(0, length);
    text.remove_prefix(std::max<std::size_t>(1, length));
  }
  return clean;
}

std::string header_text(std::string_view text) {
  const std::string line = clean_utf8(one_line(text));
  if (printable_ascii(line) && line.size() <= kPlainSubject && line.find("=?") == std::string::npos)
    return line;
  std::string folded, word;
  const auto flush = [&] {
    if (!word.empty()) folded += (folded.empty() ? "=?UTF-8?B?" : "\r\n =?UTF-8?B?") + base64(word) + "?=";
    word.clear();
  };
  for (std::string_view rest = line; !rest.empty();) {
    const std::size_t length = sequence_length(rest);
    if (word.size() + length > kBytesPerWord) flush();
    word += rest.substr(0, length);
    rest.remove_prefix(length);
  }
  flush();
  return folded;
}

std::string message_id(std::string_view id, std::string_view domain) {
  std::string left;
  for (char c : id) left += atext(c) || (c == '.' && !left.empty() && left.back() != '.') ? c : '-';
  if (left.empty() || left.back() == '.') left += '-';
  return "<" + left + "@" + std::string(domain.empty() ? "coilward.invalid" : domain) + ">";
}

std::string bare_address(std::string_view address) {
  const auto open = address.find('<');
  if (open != std::string_view::npos) {
    const auto close = address.find('>', open);
    if (close == std::string_view::npos) return {};
    address = address.substr(open + 1, close - open - 1);
  }
  const bool sound = std::none_of(address.begin(), address.end(), [](unsigned char c) {
    return c <= 0x20 || c == 0x7f || c == '<' || c == '>';
  });
  const auto at = address.rfind('@');
  if (!sound || at == std::string_view::npos || at == 0 || at + 1 == address.size()) return {};
  return std::string(address);
}

std::string domain_of(std::string_view address) {
  const std::string bare = bare_address(address);
  return bare.empty() ? bare : bare.substr(bare.rfind('@') + 1);
}

// Not strftime: %a and %b follow the locale.
std::string mail_date(std::time_t time) {
  static constexpr std::array<const char*, 7> kDays = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  static constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  std::tm utc{};
  gmtime_r(&time, &utc);
  char text[48];
  std::snprintf(text, sizeof text, "%s, %02d %s %04d %02d:%02d:%02d +0000", kDays[utc.tm_wday], utc.tm_mday,
                kMonths[utc.tm_mon], utc.tm_year + 1900, utc.tm_hour, utc.tm_min, utc.tm_sec);
  return text;
}

}  // namespace coilward_plugins
