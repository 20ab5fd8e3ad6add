#include "daemon/intake/recorded_time.h"

namespace coilward {
namespace {

constexpr std::size_t kMinuteText = 16;  // "2026-05-04T06:12"
constexpr std::size_t kSecondText = 19;  // "2026-05-04T06:12:09"

bool digit(char c) { return c >= '0' && c <= '9'; }

// ".250123" in front of `rest`, cut to milliseconds.
int take_fraction_ms(std::string_view& rest) {
  if (rest.empty() || (rest.front() != '.' && rest.front() != ',')) return 0;
  std::size_t at = 1;
  int ms = 0;
  for (int scale = 100; at < rest.size() && digit(rest[at]); ++at, scale /= 10)
    ms += (rest[at] - '0') * scale;
  if (at > 1) rest.remove_prefix(at);
  return ms;
}

}  // namespace

bool RecordedTime::parse(std::string_view text, UtcTime& time) {
  if (text.size() <= kSecondText || text[kMinuteText] != ':' || !digit(text[17]) || !digit(text[18]))
    return false;
  const int seconds = (text[17] - '0') * 10 + (text[18] - '0');
  if (seconds > 60) return false;
  std::string_view rest = text.substr(kSecondText);
  const int ms = take_fraction_ms(rest);
  if (minute_ != text.substr(0, kMinuteText) && !learn_minute(text.substr(0, kMinuteText))) return false;
  if ((!zone_known_ || zone_ != rest) && !learn_zone(rest)) return false;
  const int whole = seconds == 60 ? 60000 : seconds * 1000 + ms;
  time = UtcTime{minute_start_ - offset_ + Millis{whole}};
  return true;
}

bool RecordedTime::learn_minute(std::string_view minute) {
  const auto start = parse_rfc3339(std::string(minute) + ":00Z");
  if (!start) return false;
  minute_ = minute;
  minute_start_ = start->time_since_epoch();
  return true;
}

bool RecordedTime::learn_zone(std::string_view zone) {
  const bool z_and_offset = zone.size() > 1 && (zone.front() == 'Z' || zone.front() == 'z');
  const std::string plain = "1970-01-02T00:00:00" + std::string(zone.substr(z_and_offset ? 1 : 0));
  const auto shifted = parse_rfc3339(plain);
  if (!shifted) return false;
  zone_ = zone;
  zone_known_ = true;
  offset_ = std::chrono::days(1) - shifted->time_since_epoch();
  return true;
}

}  // namespace coilward
