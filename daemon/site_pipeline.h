// The stages from message to finding in their order, for one site: what live data, `replay` and tests all
// run. No clock, thread, file or socket: time comes with the messages and from advance().
#pragma once

#include <memory>
#include <string_view>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/intake/intake.h"
#include "daemon/pipeline.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

// What one zone is doing now, for reports, pages and `coilward zones`.
struct ZoneState {
  int number = 0;  // kMasterZone for the master output
  std::string name;
  bool on = false;
  std::string state;  // "learning", "normal", "fault", "silent" (its sensor), "unseen" (never ran)
  NormalDraw normal;
  std::optional<Run> last_run;  // finished
  double latest_amps = kNotMeasured;
  UtcTime latest_time = kNever;
  std::vector<std::string> findings;  // ids of open findings that name it
};

// Told as things happen, on the caller's thread, within the call that caused it.
class PipelineListener {
 public:
  virtual ~PipelineListener() = default;
  virtual void on_reading(const Reading&) {}  // accepted; to be kept
  virtual void on_run(const Run&) {}          // finished
  // Opened; or its fault, zones, severity or closing changed, or its probability moved by 0.05 or more.
  virtual void on_finding(const Finding&) {}
  // What is forecast of an open finding changed, and nothing else of it.
  virtual void on_forecast(const Finding&) {}
  virtual void on_zone(int /*zone*/) {
  }  // its ZoneState changed in something worth a report (not each reading)
};

// Thread: one at a time. `config`, `intake` and `listener` outlive it.
class Pipeline {
 public:
  Pipeline(const Config& config, Intake& intake, PipelineListener& listener);
  ~Pipeline();

  void message(const Message& message);
  // Lets time pass without a message: silence, overdue runs, ends of runs. Never goes back.
  void advance(UtcTime now);

  std::vector<ZoneState> zones() const;
  Silence silence() const;
  std::vector<Finding> open_findings() const;

  // Someone says it is repaired: open findings on it close when the next runs prove it, and the draw is
  // learned anew. not_found: no such zone or common.
  Result<bool> repaired_zone(int zone, bool new_coil, UtcTime when);
  Result<bool> repaired_common(std::string_view common, bool new_coil, UtcTime when);

  // Somebody works on the zone, or (WorkOnSite::kEverything) on the site, from now until then: runs meanwhile
  // are marked, teach nothing and say nothing, until the zone is said to be repaired. Again: another end; one
  // that is not later than `from` ends it.
  void work_on_site(int zone, UtcTime from, UtcTime until);

  // Everything learned and open, so that a process can go on where another ended. restore: bad_input when it
  // was saved by something else; the pipeline is then as new.
  Json save() const;
  Result<bool> restore(const Json& saved);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
