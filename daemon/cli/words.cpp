#include "daemon/cli/words.h"

#include <date/tz.h>
#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <stdexcept>

#include "daemon/locate/ladder.h"

namespace coilward {

std::string local_seconds(UtcTime time, const std::string& timezone) {
  const auto seconds = std::chrono::floor<std::chrono::seconds>(time);
  try {
    return date::format("%F %T", date::make_zoned(date::locate_zone(timezone), seconds));
  } catch (const std::runtime_error&) {
    return date::format("%F %T", date::sys_seconds{seconds.time_since_epoch()}) + "Z";
  }
}

std::string local_seconds(const Json& time, const std::string& timezone) {
  const auto instant = time.is_string() ? parse_rfc3339(time.get<std::string>()) : std::nullopt;
  return instant ? local_seconds(*instant, timezone) : "-";
}

std::string quantity(const Json& value, const std::string& unit) {
  if (!value.is_number()) return "-";
  const double number = value.get<double>();
  if (unit == "A") return fmt::format("{:.3f} A", number);
  if (unit == "V") return fmt::format("{:.2f} V", number);
  if (unit == "Cel") return fmt::format("{:.1f} °C", number);
  return unit.empty() ? (number != 0 ? "on" : "off") : fmt::format("{} {}", number, unit);
}

std::string percent(const Json& probability) {
  return probability.is_number() ? fmt::format("{:.0f} %", 100 * probability.get<double>()) : "-";
}

std::string outputs(const std::vector<int>& zones) {
  if (zones.empty()) return "site";
  if (zones == std::vector{kMasterZone}) return "master";
  std::string out;
  for (const int zone : zones)
    out += (out.empty() ? "" : ", ") + (zone == kMasterZone ? "master" : std::to_string(zone));
  return (zones.size() > 1 ? "zones " : "zone ") + out;
}

std::string text_or_dash(const Json& text) {
  const std::string value = text.is_string() ? text.get<std::string>() : "";
  return value.empty() ? "-" : value;
}

std::string test_reading_words(const Json& r) {
  if (r.contains("volts_on")) return quantity(r["volts_on"], "V") + ", zone on";
  if (r.contains("ohms"))
    return (r["ohms"].get<double>() >= kOpenOhms ? std::string("no path")
                                                 : fmt::format("{:g} ohms", r["ohms"].get<double>())) +
           " toward the " + r["toward"].get<std::string>();
  return fmt::format("{} to earth of {} on the {} wire", quantity(r["volts_to_earth"], "V"),
                     quantity(r["source_volts"], "V"), r["conductor"].get<std::string>());
}

std::string length_of_time(UtcTime from, UtcTime to) {
  const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(to - from).count();
  if (seconds < 60) return fmt::format("{} s", seconds);
  return fmt::format("{} min {:02} s", seconds / 60, seconds % 60);
}

}  // namespace coilward
