// The time a reading gets: its own when that can be, else the arrival (facts A7 and A8 of clocks without a
// battery and devices in the future).
#pragma once

#include "daemon/pipeline.h"

namespace coilward {

// Clocks start at 1970, or where a firmware was built; nobody ran this before 2020.
inline constexpr UtcTime kEarliest = std::chrono::sys_days{std::chrono::year{2020} / 1 / 1};
inline constexpr UtcTime kLatest = std::chrono::sys_days{std::chrono::year{2100} / 1 / 1};
inline constexpr Millis kMostAhead = std::chrono::hours{1};    // of the arrival: a zone or clock mistake
inline constexpr Millis kMostBehind = std::chrono::days{400};  // store and forward over a whole season

enum class TimeNote : std::uint8_t { none, ahead, behind };

struct ReadingTime {
  UtcTime time = kNever;
  bool own = false;     // the payload's absolute time
  bool unsure = false;  // the arrival's clock was not known good
  TimeNote note = TimeNote::none;
  UtcTime claimed = kNever;  // when note says that it was replaced
};

// time_kind, time_us: as in coilward_value. Never fails.
ReadingTime reading_time(const Message& message, int time_kind, std::int64_t time_us);

}  // namespace coilward
