// The joint part of the diagnosis: which set of causes explains all outputs at once.
//
// Given what acts from beyond (commons, supply, touching wires), outputs are independent, and each one's own
// faults are summed over by its filter. So the probability of a set of outside causes is its prior times the
// product of the outputs' evidences, and everything else is a weighted mean over the sets tried: what stands
// now; that with one cause more; with one ended; with one changed for another.
#pragma once

#include <array>
#include <vector>

#include "daemon/diagnosis/phase.h"

namespace coilward {

// One cause now acting, summed over its places and sizes.
struct CauseChance {
  SiteHypothesis best;
  UtcTime since = kNever;
  double probability = 0;
  double best_probability = 0;  // of `best` with `since` alone
  std::vector<std::pair<int, double>>
      segments;  // place (position in SiteElectrics::segments) and chance, best first
};

struct SitePosterior {
  std::vector<std::array<double, kZoneClasses>> zone_class;  // of each output's own state
  std::vector<double> sound;        // chance that nothing but the benign acts on the output now
  std::vector<double> teaches;      // that its level is what it always is: a low supply whose volts are known
                                    // leaves it so
  std::vector<CauseChance> causes;  // acting now, most probable first, the benign included
  std::vector<Phase> best;          // the most probable set
  double best_probability = 1;
};

class JointPosterior {
 public:
  JointPosterior(const SiteElectrics& site, const Config& config) : site_(site), config_(config) {}

  // filters and fitted: one for each output, in SiteElectrics' order. standing: the set found so far, which
  // the filters have followed.
  SitePosterior compute(const std::vector<ZoneFilter>& filters, const std::vector<ZoneElectrics>& fitted,
                        const std::vector<Phase>& standing) const;

 private:
  const SiteElectrics& site_;
  const Config& config_;
};

}  // namespace coilward
