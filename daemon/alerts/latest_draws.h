// What each zone drew in its latest runs, for the small drawing in a technician's alert.
#pragma once

#include <deque>
#include <map>
#include <optional>

#include "daemon/alerts/sparkline.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: one at a time.
class LatestDraws {
 public:
  void run(const Run& run);
  // The zone's latest runs, oldest first, kMostDrawn at most, with what the finding saw last and its normal
  // band. nullopt: fewer than kFewestRuns are known, or the finding names no zone.
  std::optional<AlertDraw> of(const Finding& finding) const;

  Json save() const;
  void restore(const Json& saved);  // throws nlohmann::json::exception on another shape

 private:
  struct Point {
    UtcTime start = kNever;
    double amps = 0;
  };
  std::map<int, std::deque<Point>> zones_;
};

}  // namespace coilward
