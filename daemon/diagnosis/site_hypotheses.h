// What can be wrong beyond a single output: a common, the supply, two zone wires touching. Each acts on
// several outputs at once, which is how it is told from faults of their own.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/diagnosis/prediction.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {

enum class SiteClass : std::uint8_t {
  supply_shift,  // the mains moved, within what is usual: not a finding
  supply_low,
  supply_lost,
  failed_common,
  common_high_resistance,
  crossed_wires,
};

struct SiteHypothesis {
  SiteClass site_class = SiteClass::supply_shift;
  int segment = -1;  // position in SiteElectrics::segments; -1: not a stretch of the configuration
  int common = -1;
  double size = 0;         // factor of the supply; ohms added
  std::vector<int> zones;  // outputs it acts on, positions
  double log_prior = 0;    // of the chance that it begins on a given day
  // One cause, whatever its place and size: what a finding is about.
  bool same_cause(const SiteHypothesis& other) const;
};

Fault fault_of(SiteClass site_class);

// Every hypothesis that acts on one of `suspects`. boxes give a stretch its length for the prior. `dead` are
// the outputs without current: a failed common is offered for them where the configuration names no boxes.
std::vector<SiteHypothesis> site_hypotheses(const SiteElectrics& site, const Config& config,
                                            const std::vector<int>& suspects, const std::vector<int>& dead);

// What it makes of a run of one output; nullopt: nothing. volts_known: the level already allows for the
// volts.
std::optional<Prediction> effect_on(const SiteHypothesis& hypothesis,
                                    const std::vector<ZoneElectrics>& fitted, const Observation& seen);

}  // namespace coilward
