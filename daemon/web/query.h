// Instants, steps and numbers as people and scripts write them in queries and on the command line. Thread:
// any.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

// "90s", "30m", "12h", "7d", "2w", "500ms"; a bare number is seconds. Days are 24 hours. nullopt: not such a
// text, or longer than 100 years.
std::optional<Millis> parse_duration(std::string_view text);

// RFC 3339 with an offset; a date alone ("2026-05-04": midnight at the site); "now"; or a duration, meaning
// that long before `now`. bad_input.
Result<UtcTime> parse_when(std::string_view text, UtcTime now, const std::string& timezone);

// A whole number within [low, high]. bad_input; `name` stands for it in the text.
Result<int> parse_number(std::string_view text, int low, int high, std::string_view name);

// The path's and query's percent-encoding (RFC 3986). nullopt: a broken escape or a zero byte.
std::optional<std::string> percent_decoded(std::string_view text, bool plus_is_space = false);
std::string percent_encoded(std::string_view text);

}  // namespace coilward
