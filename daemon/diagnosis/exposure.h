// How long a fault had to begin in: the chance that it did grows with it. Thread: any.
#pragma once

#include <algorithm>

#include "daemon/base/time.h"

namespace coilward {

// Bounds, in days; own judgement. Some faults come with the switching itself, however short the time; and
// what may have happened in weeks that nobody looked is told by what is drawn then.
inline constexpr double kLeastExposureDays = 0.03, kMostExposureDays = 3;

// From the latest run in which it would have shown, and did not, to the first in which it may.
inline double exposure_days(UtcTime before, UtcTime now) {
  return std::clamp(seconds_between(before, now) / 86400, kLeastExposureDays, kMostExposureDays);
}

}  // namespace coilward
