// Hours in which someone wants quiet, by the site's own clock, through both changes of the year. Thread: any.
#pragma once

#include <optional>
#include <string>

#include "daemon/base/time.h"
#include "daemon/config/config.h"

namespace coilward {

// Until when it is quiet at `now`; nullopt: it is not. An hour that comes twice in autumn is quiet both
// times: the first beginning and the last end count. A beginning or end that the spring change leaves out is
// at the change. Hours that end when they begin are the whole day, with one moment to speak in. timezone:
// IANA; one that is not known is UTC.
std::optional<UtcTime> quiet_until(const QuietHours& hours, UtcTime now, const std::string& timezone);

// The next time after `now` that the site's clock shows this minute of the day, 0 to 1440.
UtcTime next_at(int minute, UtcTime now, const std::string& timezone);

// "Until morning" of a snooze, minutes of the day (own choice).
inline constexpr int kMorning = 7 * 60;

}  // namespace coilward
