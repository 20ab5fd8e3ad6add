#include "plugins/decoders/json/json_time.h"

#include <cmath>

#include "daemon/base/time.h"
#include "plugins/decoders/number/number_payload.h"

namespace coilward_plugins {
namespace {

constexpr double kFarthest_us = 9.0e18;  // fits 64 bits

double microseconds_in(TimeUnit unit, double time) {
  switch (unit) {
    case TimeUnit::seconds:
      return 1e6;
    case TimeUnit::milliseconds:
      return 1e3;
    case TimeUnit::microseconds:
      return 1;
    case TimeUnit::nanoseconds:
      return 1e-3;
    case TimeUnit::by_size:
      break;
  }
  const double size = std::fabs(time);
  return size < 1e11 ? 1e6 : size < 1e14 ? 1e3 : size < 1e17 ? 1 : 1e-3;
}

}  // namespace

std::optional<TimeUnit> time_unit_from(std::string_view name) {
  if (name == "auto") return TimeUnit::by_size;
  if (name == "s") return TimeUnit::seconds;
  if (name == "ms") return TimeUnit::milliseconds;
  if (name == "us") return TimeUnit::microseconds;
  if (name == "ns") return TimeUnit::nanoseconds;
  return std::nullopt;
}

std::optional<std::int64_t> unix_microseconds(double time, TimeUnit unit) {
  const double microseconds = time * microseconds_in(unit, time);
  if (!(std::fabs(microseconds) < kFarthest_us)) return std::nullopt;
  return std::llround(microseconds);
}

std::optional<std::int64_t> json_microseconds(const simdjson::dom::element& time, TimeUnit unit,
                                              bool numbers_as_text) {
  if (double number = 0; !time.get_double().get(number)) return unix_microseconds(number, unit);
  std::string_view text;
  if (time.get_string().get(text)) return std::nullopt;
  if (const auto instant = coilward::parse_rfc3339(text)) return coilward::to_ms(*instant) * 1000;
  const auto number = numbers_as_text ? parse_number_payload(text) : std::nullopt;
  if (!number || number->word) return std::nullopt;
  return unix_microseconds(number->value, unit);
}

}  // namespace coilward_plugins
