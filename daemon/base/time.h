// Instants and their text forms. All instants are UTC with millisecond steps; a site's time zone is applied
// only where a person reads (README of web) and where a timetable is learned.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace coilward {

using Millis = std::chrono::milliseconds;
using UtcTime = std::chrono::sys_time<Millis>;

// "no instant": earlier than anything a sensor can say.
inline constexpr UtcTime kNever = UtcTime::min();

inline std::int64_t to_ms(UtcTime time) { return time.time_since_epoch().count(); }
inline UtcTime from_ms(std::int64_t ms) { return UtcTime{Millis{ms}}; }
inline double seconds_between(UtcTime from, UtcTime to) {
  return static_cast<double>((to - from).count()) / 1000.0;
}

// RFC 3339 in UTC with milliseconds: 2026-05-04T06:12:09.250Z.
std::string format_rfc3339(UtcTime time);

// The contract's finding-id form: 20260504-061209.
std::string format_compact(UtcTime time);

// RFC 3339 section 5.6, any fraction (cut to milliseconds), "Z", "+hh:mm", and also "-0600" without the colon
// and
// "+00" as command-line brokers print it. A leap second (":60") is read as the first instant of the next
// minute. nullopt: not such a text.
std::optional<UtcTime> parse_rfc3339(std::string_view text);

}  // namespace coilward
