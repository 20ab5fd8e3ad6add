// What a site draws: by a closed form for one zone on in a sound tree, by a network for anything else. This
// is the model every stage reasons with. Thread: any; no state. NaN in, NaN out; nothing throws but
// bad_alloc.
#pragma once

#include "daemon/circuit/site_layout.h"

namespace coilward::circuit {

// One zone on, all others off.
struct AloneSolution {
  Phasor zone_amps;    // at the controller's output
  Phasor common_amps;  // of it, what comes back on the common; the rest leaks
  Phasor zone_volts;   // zone terminal to common terminal
  Phasor coil_volts;   // across the coils
};

// Closed form; a few tens of nanoseconds. extra_common_ohms is added between the zone's node and the source;
// kNoPath: the common is broken. Crossings need solve().
AloneSolution solve_alone(const SiteLayout& layout, int zone, const ZoneFault& fault,
                          double extra_common_ohms = 0, double source_factor = 1, double copper_celsius = 20);
double zone_amps_alone(const SiteLayout& layout, int zone, const ZoneFault& fault,
                       double extra_common_ohms = 0, double source_factor = 1, double copper_celsius = 20);

// By position in SiteLayout::zones and SiteLayout::commons.
struct Solution {
  std::vector<Phasor> zone_amps;    // at the controller's output; 0 when it is off
  std::vector<Phasor> coil_amps;    // through splice and coils; differs by leakage and crossings
  std::vector<Phasor> coil_volts;   // across the coils
  std::vector<Phasor> common_amps;  // coming back at the controller
  Phasor earth_amps;                // coming back by way of earth
  Phasor zone_volts;                // zone terminal to common terminal, the same for all outputs that are on
  double zone_amp(int zone) const { return std::abs(zone_amps[static_cast<std::size_t>(zone)]); }
};

// on: the outputs that are switched on, each position once, in any order; the others are left unconnected at
// the controller.
Solution solve(const SiteLayout& layout, std::span<const int> on, const SiteFaults& faults);

}  // namespace coilward::circuit
