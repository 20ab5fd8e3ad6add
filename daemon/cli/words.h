// JSON values as people read them: times at the site, currents with their unit. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/time.h"

namespace coilward {

// "2026-05-04 00:12:09" at the site. timezone: IANA name; UTC when it is not known here.
std::string local_seconds(UtcTime time, const std::string& timezone);
// The same of a JSON time; "-" for null.
std::string local_seconds(const Json& time, const std::string& timezone);
// "0.231 A", "26.40 V", "18.2 °C" by unit; "-" for null.
std::string quantity(const Json& value, const std::string& unit = "A");
// "98 %"
std::string percent(const Json& probability);
// "zone 4", "zones 1, 2, 3", "master"; "site" for none
std::string outputs(const std::vector<int>& zones);
// The text, or "-" for null and empty.
std::string text_or_dash(const Json& text);
// What a kept test reading showed, without its place: "26.40 V, zone on".
std::string test_reading_words(const Json& reading);
// "12 min 30 s"
std::string length_of_time(UtcTime from, UtcTime to);

}  // namespace coilward
