// An instant as a person at the site reads it. Thread: any.
#pragma once

#include <string>

#include "daemon/alerts/words.h"
#include "daemon/base/time.h"

namespace coilward {

// "Mon 4 May 2026 00:12 MDT". timezone: IANA name; one that is not known gives UTC, and says so.
std::string site_date_time(UtcTime time, const std::string& timezone,
                           const Words& words = Words::in(Language::english));
// "4 May": of the weeks around now.
std::string site_day(UtcTime time, const std::string& timezone,
                     const Words& words = Words::in(Language::english));
// "00:12 MDT".
std::string site_clock_time(UtcTime time, const std::string& timezone);

}  // namespace coilward
