#include "daemon/alerts/site_time.h"

#include <date/tz.h>

#include <stdexcept>

namespace coilward {
namespace {

std::string format_in_zone(const char* form, UtcTime time, const std::string& timezone) {
  const auto to_minute = std::chrono::floor<std::chrono::minutes>(time);
  const auto seconds = std::chrono::time_point_cast<std::chrono::seconds>(to_minute);
  try {
    return date::format(form, date::make_zoned(date::locate_zone(timezone), seconds));
  } catch (const std::runtime_error&) {  // no such zone, or no zone data on this machine
    return date::format(form, date::sys_seconds{seconds.time_since_epoch()});
  }
}

}  // namespace

std::string site_date_time(UtcTime time, const std::string& timezone) {
  std::string text = format_in_zone("%a %d %b %Y %H:%M %Z", time, timezone);
  if (text.size() > 4 && text[4] == '0') text.erase(4, 1);  // "Mon 04 May"
  return text;
}

std::string site_clock_time(UtcTime time, const std::string& timezone) {
  return format_in_zone("%H:%M %Z", time, timezone);
}

}  // namespace coilward
