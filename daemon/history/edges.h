// Bucket edges: where one step of a thinned course ends and the next begins.
#pragma once

#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

// From `from` (rounded down to a step) to the first edge at or after `until`. every_s of 60 or more is
// rounded up to whole minutes, of two hours or more to whole hours, so that roll-ups can answer; below, to
// whole milliseconds (at least 1).
// bad_input: not from < until, or more than 1,000,000 edges.
Result<std::vector<UtcTime>> even_edges(UtcTime from, UtcTime until, double every_s);

// Midnights of an IANA time zone: days of 23, 24 or 25 hours as the zone's clock has them (facts of the tz
// database). bad_input: no such zone.
Result<std::vector<UtcTime>> day_edges(UtcTime from, UtcTime until, const std::string& timezone);

}  // namespace coilward
