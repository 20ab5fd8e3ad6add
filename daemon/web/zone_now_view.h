// What one zone draws now, as the page in hand and its script take it. Thread: the SiteAccess's.
#pragma once

#include "daemon/web/zone_now.h"

namespace coilward {

// The strip of the last minute, in units of its own drawing: the newest is at the right.
inline constexpr double kStripWide = 600, kStripHigh = 120;

struct StripView {
  double top = 0;                    // A at the upper edge
  std::string line;                  // path; broken where readings are missing
  double band_y = 0, band_high = 0;  // 0 high: no normal draw is known
};
StripView strip_view(const ZoneNow& now, const std::deque<StripPoint>& strip, UtcTime present);

// {"zone", "time", "amps", "normal_amps", "low", "high", "share", "level", "on", "age_s", "fresh_s", "stale",
//  "words": {"figure", "amps", "level", "icon", "on"}, "strip": {"top", "line", "y", "high"}}
Json zone_now_to_json(const ZoneNow& now, const StripView& strip);

}  // namespace coilward
