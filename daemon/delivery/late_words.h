// An alert that gets through late says so, or "Zone 4 is not watering" is read as news of this minute.
#pragma once

#include <string>
#include <string_view>

#include "daemon/base/time.h"

namespace coilward {

inline constexpr Millis kLate = std::chrono::minutes{10};  // own choice

// The alert's JSON as it is to be delivered at `now`: when it was due over kLate ago ("due", else "raised"),
// its text and subject say "Delayed: this happened at ..." in its language, and "delayed" is true; otherwise
// "delayed" is false. Text that is no alert comes back as it is. timezone: the site's, IANA.
std::string with_lateness(std::string_view alert_json, UtcTime now, const std::string& timezone);

}  // namespace coilward
