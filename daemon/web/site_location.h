// What locating needs of a site: which zones draw, what was measured for a finding, and whether it was said
// to be repaired since. Thread: that of the SiteAccess.
#pragma once

#include "daemon/locate/locate.h"
#include "daemon/web/site_access.h"

namespace coilward {

// The readings of one finding as they are kept, oldest first.
struct KeptReadings {
  std::vector<TestReading> readings;
  std::size_t first = 0;      // of those that count: a repair makes the wires others than were measured
  UtcTime repaired = kNever;  // when someone last said so
  std::string repaired_by;    // and who; may be empty
};

// Rows that are no reading (an older or newer program's) are left out.
KeptReadings kept_readings(const std::vector<TestReadingRow>& rows);

// The mark that a repair leaves beside the readings of every open finding it is about.
std::vector<TestReadingRow> repair_marks(const std::vector<Finding>& open, const Config& config,
                                         const RepairTarget& target, const std::string& who, UtcTime at);

// Zones beside the finding's, by their latest runs.
std::vector<Neighbour> neighbours_of(const std::vector<ZoneState>& zones, const Finding& finding);

// What locating starts from, as the site knows it now. Locating takes tens of milliseconds: aside.h.
LocateInput locate_input(const SiteAccess& site, const Finding& finding, const KeptReadings& kept);

// {"finding", "repaired": time or null, "proved": whether runs since then show it (null: none ran yet),
// "proof": what they say, "readings": [{"taken", "zone", "at", ..., "by", "counts", "explained"}], "words"}
Json readings_to_json(const SiteAccess& site, const Finding& finding, const KeptReadings& kept,
                      const Location& location);

}  // namespace coilward
