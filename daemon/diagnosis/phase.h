// A cause and the time that it acts, and what several of them together make of a run.
#pragma once

#include <vector>

#include "daemon/diagnosis/site_hypotheses.h"
#include "daemon/diagnosis/zone_filter.h"

namespace coilward {

inline constexpr UtcTime kForGood = UtcTime::max();

// A cause that acts on runs that start in [since, until).
struct Phase {
  SiteHypothesis cause;
  UtcTime since = kNever;
  UtcTime until = kForGood;
  bool lasts() const { return until == kForGood; }
  friend bool operator==(const Phase&, const Phase&) = default;
};

// What a set makes of one look: the product over its causes. Both outlive it.
EffectAt effect_of(const std::vector<Phase>& phases, const std::vector<ZoneElectrics>& fitted);

}  // namespace coilward
