#include "daemon/history/edges.h"

#include <date/tz.h>
#include <fmt/format.h>

#include <cmath>

namespace coilward {
namespace {

constexpr std::int64_t kMostEdges = 1'000'000;

std::int64_t step_ms(double every_s) {
  if (!(every_s > 0)) return 0;
  if (every_s < 60) return std::max<std::int64_t>(1, std::llround(every_s * 1000));
  const std::int64_t unit_s = every_s < 7200 ? 60 : 3600;
  return static_cast<std::int64_t>(std::ceil(every_s / static_cast<double>(unit_s) - 1e-9)) * unit_s * 1000;
}

Error bad_range(UtcTime from, UtcTime until) {
  return {Cause::bad_input,
          fmt::format("no time between {} and {}", format_rfc3339(from), format_rfc3339(until))};
}

}  // namespace

Result<std::vector<UtcTime>> even_edges(UtcTime from, UtcTime until, double every_s) {
  if (from >= until) return bad_range(from, until);
  if (!(every_s > 0) || every_s > 1e10)
    return Error{Cause::bad_input, fmt::format("a step of {} s: more than 0 is needed", every_s)};
  const auto step = step_ms(every_s);
  const auto first = to_ms(std::chrono::floor<Millis>(from)) / step * step;
  if ((to_ms(until) - first) / step >= kMostEdges)
    return Error{Cause::bad_input, fmt::format("steps of {} s are too many for that time", every_s)};
  std::vector<UtcTime> edges;
  for (auto at = first; at < to_ms(until) + step; at += step) edges.push_back(from_ms(at));
  return edges;
}

Result<std::vector<UtcTime>> day_edges(UtcTime from, UtcTime until, const std::string& timezone) {
  if (from >= until) return bad_range(from, until);
  if ((until - from) / std::chrono::hours{24} >= kMostEdges) return Error{Cause::bad_input, "too many days"};
  try {
    const auto* zone = date::locate_zone(timezone);
    auto day = std::chrono::floor<date::days>(zone->to_local(from));
    std::vector<UtcTime> edges;
    do {  // a midnight that the clock skips or has twice: the earliest instant of that day
      edges.push_back(std::chrono::floor<Millis>(zone->to_sys(day, date::choose::earliest)));
      day += date::days{1};
    } while (edges.back() < until);
    return edges;
  } catch (const std::runtime_error& failure) {
    return Error{Cause::bad_input, fmt::format("time zone {}: {}", timezone, failure.what())};
  }
}

}  // namespace coilward
