// When somebody works on the site, or on one zone: wires are off and zones are switched by hand, so that
// nothing that is read meanwhile says anything of the wiring. Each stretch of work ends by itself.
//
// No clock. Thread: one at a time.
#pragma once

#include <map>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

class WorkOnSite {
 public:
  static constexpr int kEverything = -1;  // where a zone is expected

  // A running stretch of the same zone gets another end; one that is not later than `from` ends it.
  void announce(int zone, UtcTime from, UtcTime until);
  // The zone is as it should be again, although the work goes on.
  void mended(int zone, UtcTime when);
  // Somebody worked on the zone at some time between these two, both included.
  bool covers(int zone, UtcTime from, UtcTime to) const;
  bool covers(int zone, UtcTime at) const { return covers(zone, at, at); }

  // What a channel shows outside of runs is put by while somebody works on it: if it has not ended by then,
  // it comes from due() afterwards. false: nobody does; it is for the caller.
  bool put_by(const IdleEvent& event);
  std::vector<IdleEvent> due(UtcTime now);

  Json save() const;
  void restore(const Json& saved);  // throws nlohmann::json::exception on another shape

 private:
  struct Stretch {
    int zone = kEverything;
    UtcTime from = kNever, until = kNever;
  };
  UtcTime end_of(const Stretch& stretch, int zone) const;

  std::vector<Stretch> stretches_;
  std::map<int, UtcTime> mended_;  // the latest time
  std::vector<IdleEvent> put_by_;
};

}  // namespace coilward
