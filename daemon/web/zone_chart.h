// A zone's recorded current as a drawing made here, so that it is there without a script: the normal band,
// each step's lowest to highest and mean for a run and a day, a dot for each run for longer ranges; findings
// and repairs as marks. Beside it, the same range as numbers for the script that draws it finer. Thread: the
// SiteAccess's.
#pragma once

#include <string>
#include <vector>

#include "daemon/web/site_access.h"
#include "daemon/web/zone_range.h"

namespace coilward {

// A moment worth a line through the chart.
struct ChartMark {
  UtcTime time = kNever;
  std::string kind;   // "found", "over", "repaired"
  std::string words;  // not escaped
};

struct ChartInput {
  const ZoneState& zone;
  const ZoneRange& range;
  const std::vector<Run>& runs;  // within the range
  const std::vector<ChartMark>& marks;
};

// <figure>...; an error's text when the history cannot be read.
std::string zone_chart(const ChartInput& input, const SiteAccess& site);

}  // namespace coilward
