// The first moments after a switch-on, in the time domain: the coils' flux builds up, plungers are pulled and
// seat or do not, and the sensor sees the RMS of half cycle after half cycle.
#pragma once

#include <span>
#include <vector>

#include "daemon/simulate/branch.h"

namespace coilward::simulate {

// Currents that a sensor sees together: the branches behind one output, or those returning by one common.
using Probe = std::vector<int>;

struct SwitchOnPlan {
  double volts = 26;  // source, RMS
  double hertz = 60;
  double phase = 0;                  // radians of the source's wave at switch-on
  double seconds = 0.4;              // how long to follow it
  std::span<const Branch> branches;  // fresh ones begin at rest, the others in their steady state
  std::span<const Probe> probes;
};

struct SwitchOn {
  double half_cycle_s = 0;
  std::vector<std::vector<double>> probe_amps;  // [probe][half cycle], RMS
  std::vector<double> total_amps;               // [half cycle] all branches, RMS
  std::vector<double> terminal_volts;           // [half cycle] RMS after the source's own resistance
  std::vector<double> gap_mm;                   // [branch] where its plunger ended
  std::vector<double> seated_ms;                // [branch] when it seated; NaN: it did not
};

SwitchOn follow_switch_on(const SwitchOnPlan& plan);

}  // namespace coilward::simulate
