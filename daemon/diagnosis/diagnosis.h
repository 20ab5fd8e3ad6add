// run + draw -> finding: which faults explain all outputs at once, with what probability.
//
// Each look at a run becomes an observation relative to the normal draw; the joint posterior over what may be
// wrong with each output and beyond it is computed anew; what it holds likely enough is claimed as a finding.
// Runs judged healthy teach the normal draw; others do not. See posterior.h for the reasoning and
// zone_hypotheses.h for the faults.
//
// Thread: one at a time.
#pragma once

#include <map>
#include <memory>
#include <string_view>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/diagnosis/finding_book.h"
#include "daemon/draw/draw_model.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

class Diagnosis {
 public:
  // config outlives it.
  Diagnosis(const Config& config, TellFinding tell);
  ~Diagnosis();

  void look(const Run& run, Look look, UtcTime now);
  void idle(const IdleEvent& event);
  // A channel's value was refused as impossible (intake): the sensor's fault, not the valve's.
  void implausible(Channel channel, double value, UtcTime now);
  // A zone's turn in its learned programme passed without it. left_time: nothing else ran meanwhile; false:
  // the next one started at once, more than once.
  void missed(int zone, UtcTime expected, bool left_time, UtcTime now);

  // Zones that have not run once since the watch began, though others did. commanded: their commands are
  // heard, and never came.
  void never_ran(const std::vector<int>& zones, bool commanded, UtcTime now);

  // Nothing has run since then, for longer than any delay explains. commanded, supply_volts: as EventClaims'.
  void all_silent(UtcTime since, bool commanded, double supply_volts, UtcTime now);

  // Learned anew; findings close when the next runs prove it: by what was learned before, or, with a new
  // coil, by the circuit. Numbers are the caller's to check.
  void repaired(const std::vector<int>& zones, bool new_coil, UtcTime when);

  const std::vector<Finding>& open_findings() const;
  NormalDraw normal(int zone, double supply_volts) const;
  const SiteElectrics& site() const;

  Json save() const;
  // false: saved for another configuration; as new then.
  bool restore(const Json& saved);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
