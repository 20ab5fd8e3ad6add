// The time a JSON payload claims.
#pragma once

#include <simdjson.h>

#include <cstdint>
#include <optional>
#include <string_view>

namespace coilward_plugins {

enum class TimeUnit { by_size, seconds, milliseconds, microseconds, nanoseconds };

// "auto", "s", "ms", "us", "ns".
std::optional<TimeUnit> time_unit_from(std::string_view name);

// Microseconds since 1970. `by_size`: the unit that puts the number between 1973 and 5138 (|t| below 1e11 is
// seconds, below 1e14 milliseconds, below 1e17 microseconds, else nanoseconds); own judgement, as every clock
// that counts since 1970 is on one side of those borders for the next thousand years. nullopt: out of range.
std::optional<std::int64_t> unix_microseconds(double time, TimeUnit unit);

// From a number, or a text as RFC 3339 has it (with its offset: a local time without one says nothing).
std::optional<std::int64_t> json_microseconds(const simdjson::dom::element& time, TimeUnit unit,
                                              bool numbers_as_text);

}  // namespace coilward_plugins
