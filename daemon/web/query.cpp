#include "daemon/web/query.h"

#include <date/tz.h>
#include <fmt/format.h>

#include <array>
#include <charconv>
#include <stdexcept>

namespace coilward {
namespace {

struct Step {
  std::string_view unit;
  std::int64_t ms;
};
constexpr std::array<Step, 7> kSteps = {{{"", 1000},
                                         {"ms", 1},
                                         {"s", 1000},
                                         {"m", 60'000},
                                         {"h", 3'600'000},
                                         {"d", 86'400'000},
                                         {"w", 604'800'000}}};
constexpr double kLongestMs = 100.0 * 366 * 86'400'000;

// Midnight at the site: a date alone is what a person there would call that day.
std::optional<UtcTime> parse_date(std::string_view text, const std::string& timezone) {
  if (text.size() != 10) return std::nullopt;
  const auto midnight = parse_rfc3339(std::string(text) + "T00:00:00Z");
  if (!midnight) return std::nullopt;
  try {
    const auto local = date::local_time<Millis>{midnight->time_since_epoch()};
    return UtcTime{date::locate_zone(timezone)->to_sys(local, date::choose::earliest).time_since_epoch()};
  } catch (const std::runtime_error&) {  // no zone data on this machine
    return midnight;
  }
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

bool unreserved(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
         std::string_view("-._~").find(c) != std::string_view::npos;
}

}  // namespace

std::optional<Millis> parse_duration(std::string_view text) {
  double number = 0;
  const auto [rest, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || !(number >= 0)) return std::nullopt;
  const std::string_view unit(rest, text.data() + text.size() - rest);
  for (const Step& step : kSteps)
    if (step.unit == unit && number * static_cast<double>(step.ms) <= kLongestMs)
      return Millis{static_cast<std::int64_t>(number * static_cast<double>(step.ms))};
  return std::nullopt;
}

Result<UtcTime> parse_when(std::string_view text, UtcTime now, const std::string& timezone) {
  if (text == "now") return now;
  if (const auto time = parse_rfc3339(text)) return *time;
  if (const auto day = parse_date(text, timezone)) return *day;
  if (const auto ago = parse_duration(text)) return now - *ago;
  return Error{Cause::bad_input,
               fmt::format("'{}' is not a time: allowed are 2026-05-04T06:12:09Z (any offset), "
                           "2026-05-04, now, and 7d, 12h, 30m, 90s ago",
                           text)};
}

Result<int> parse_number(std::string_view text, int low, int high, std::string_view name) {
  int number = 0;
  const auto [rest, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error == std::errc{} && rest == text.data() + text.size() && number >= low && number <= high)
    return number;
  return Error{Cause::bad_input, fmt::format("{} is '{}': allowed is {} to {}", name, text, low, high)};
}

std::optional<std::string> percent_decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    char c = text[i];
    if (c == '%') {
      const int high = i + 2 < text.size() ? hex_digit(text[i + 1]) : -1;
      const int low = i + 2 < text.size() ? hex_digit(text[i + 2]) : -1;
      if (high < 0 || low < 0) return std::nullopt;
      c = static_cast<char>(high * 16 + low);
      i += 2;
    } else if (c == '+' && plus_is_space) {
      c = ' ';
    }
    if (c == '\0') return std::nullopt;
    out.push_back(c);
  }
  return out;
}

std::string percent_encoded(std::string_view text) {
  std::string out;
  for (const char c : text)
    out += unreserved(c) ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  return out;
}

}  // namespace coilward
