// Places and test readings in sentences, for pages and paper. Not escaped. Thread: any.
#pragma once

#include <string>

#include "daemon/locate/locate.h"

namespace coilward {

// "at the controller", "in box B".
std::string at_text(const std::string& at);
// "the zone wire between box A and box B", "the splice of the common in box B".
std::string place_text(const Place& place);
// What to do: "With zone 4 on, measure the volts between its wire and the common in box B, ..."
std::string task_text(const NextReading& next);
// "24 to 28 volts", "no path".
std::string expected_text(const ExpectedReading& expected, ReadingKind kind);
// Where the fault is when the meter shows that: "the fault is beyond box B".
std::string meaning_text(const NextReading& next, const ExpectedReading& expected);
// What was measured, without the place: "26.1 V, zone on".
std::string shown_text(const TestReading& reading);

}  // namespace coilward
