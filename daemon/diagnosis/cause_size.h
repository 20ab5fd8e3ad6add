// How large a cause beyond the outputs must be to explain what they drew: asked of the circuit instead of
// tried in steps. Ohms at the mains frequency. Thread: any; no state.
#pragma once

#include <span>
#include <vector>

#include "daemon/diagnosis/zone_filter.h"

namespace coilward {

// Ohms in series with an output that make of its healthy current what was seen, and how well that is known.
// NaN: not seen, dead, or drawing more than normal.
struct OhmsSeen {
  double ohms = kNotMeasured;
  double sd = 0;
};
OhmsSeen ohms_seen(const ZoneElectrics& zone, const Observation& seen);

// The ohms the outputs agree on, over their runs since then (latest_only: each one's latest). NaN: nothing.
double common_ohms(std::span<const int> zones, UtcTime since, bool latest_only,
                   const std::vector<ZoneFilter>& filters, const std::vector<ZoneElectrics>& fitted);

// The factor of the supply that explains currents, or volts where they are measured. NaN: nothing.
double supply_factor(UtcTime since, const std::vector<ZoneFilter>& filters);

// What one of two outputs on crossed wires draws, over the sum of both normal draws; NaN: not seen since
// then.
double crossed_share(int zone, int other, UtcTime since, const std::vector<ZoneFilter>& filters,
                     const std::vector<ZoneElectrics>& fitted);
// Holding current of both coils over one's own.
double both_over_own(const ZoneElectrics& own, const ZoneElectrics& other);

}  // namespace coilward
