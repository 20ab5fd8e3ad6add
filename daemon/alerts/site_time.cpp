#include "daemon/alerts/site_time.h"

#include <date/tz.h>

#include <sstream>
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

// The word at a place of a list with blanks between.
std::string nth(const std::string& list, std::size_t index) {
  std::istringstream words(list);
  std::string word;
  for (std::size_t i = 0; i <= index; ++i) words >> word;
  return word;
}

}  // namespace

std::string site_date_time(UtcTime time, const std::string& timezone, const Words& words) {
  // Numbers from the zone's calendar, names from the catalogue.
  std::istringstream parts(format_in_zone("%w %d %m %Y %H:%M %Z", time, timezone));
  std::size_t weekday = 0, day = 0, month = 1;
  std::string year, clock;
  parts >> weekday >> day >> month >> year >> std::ws;
  std::getline(parts, clock);
  return words.say("time.date", {{"day", nth(words.text("time.days"), weekday)},
                                 {"date", std::to_string(day)},
                                 {"month", nth(words.text("time.months"), month - 1)},
                                 {"year", year},
                                 {"clock", clock}});
}

std::string site_day(UtcTime time, const std::string& timezone, const Words& words) {
  std::istringstream parts(format_in_zone("%d %m", time, timezone));
  std::size_t day = 0, month = 1;
  parts >> day >> month;
  return words.say("time.day",
                   {{"date", std::to_string(day)}, {"month", nth(words.text("time.months"), month - 1)}});
}

std::string site_clock_time(UtcTime time, const std::string& timezone) {
  return format_in_zone("%H:%M %Z", time, timezone);
}

}  // namespace coilward
