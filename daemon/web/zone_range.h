// Which part of a zone's history its page shows. Thread: the SiteAccess's.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/web/site_access.h"

namespace coilward {

inline constexpr std::size_t kMostPoints = 1000;  // of a chart: more than a screen has columns (own choice)

struct RangeKind {
  std::string_view name;   // in the address
  std::string_view words;  // on the page
  Millis length;           // 0: one run
  double every_s;          // step of its chart: at most kMostPoints of them
};

const std::vector<RangeKind>& range_kinds();

struct ZoneRange {
  const RangeKind* kind = nullptr;
  UtcTime from = kNever, until = kNever;
  double every_s = 1;
  bool newest = true;  // nothing newer is left out
};

// What is asked for by `name` (empty: the last run, or the day when there was none) and, when given, the
// instant that it ends at. bad_input: no such range.
Result<ZoneRange> zone_range(const std::string& name, std::optional<UtcTime> until,
                             const std::vector<Run>& runs, UtcTime now);

// The latest runs of a zone that began before `until`, the latest first, those not committed yet included.
// Nothing kept yet gives none.
Result<std::vector<Run>> latest_runs(const SiteAccess& site, int zone, UtcTime from, UtcTime until,
                                     std::size_t most);
// Of what the zone draws.
Channel current_channel(int zone);
// "2m", as the history's routes read a step.
std::string step_text(double every_s);

}  // namespace coilward
