// A log line as bytes, one line of output for each line of text. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/base/log.h"
#include "daemon/base/time.h"

namespace coilward::log {

// Without the newline at the end. Lines after the first are indented, so that text from outside cannot pass
// for a line of our own; other control characters are written as \xNN.
// text: "2026-05-04T06:12:09.250Z warning ..."; journal: "<4>..." (sd-daemon(3)); json: one object.
std::string format_line(Format format, Level level, UtcTime time, std::string_view text);

}  // namespace coilward::log
