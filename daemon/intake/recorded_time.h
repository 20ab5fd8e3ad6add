// Times as recorders print them. Most lines share their minute and offset with the line before, so both are
// remembered.
#pragma once

#include <string>
#include <string_view>

#include "daemon/base/time.h"

namespace coilward {

// Thread: one at a time.
class RecordedTime {
 public:
  // "2026-05-04T06:12:09.250123Z+0000", and everything parse_rfc3339 takes. "Z" followed by an offset is
  // local time at that offset. False: not a time.
  bool parse(std::string_view text, UtcTime& time);

 private:
  bool learn_minute(std::string_view minute);
  bool learn_zone(std::string_view zone);

  std::string minute_;  // "2026-05-04T06:12"
  std::string zone_;    // "Z+0000"
  Millis minute_start_{0};
  Millis offset_{0};  // of local time against UTC
  bool zone_known_ = false;
};

}  // namespace coilward
