// What else was on during a run, as far as it has been seen: it loads the source and the shared copper, comes
// back on the common, and pulls down the volts where it is a short. Thread: one at a time; site and filters
// outlive it.
#pragma once

#include <vector>

#include "daemon/diagnosis/observation.h"
#include "daemon/diagnosis/zone_filter.h"

namespace coilward {

// So many times its normal current is a short; own judgement: a plunger that is out draws less.
inline constexpr double kShort = 1.8;

class Company {
 public:
  Company(const SiteElectrics& site, const std::vector<ZoneFilter>& filters)
      : site_(site), filters_(filters) {}

  // What the run's output draws beside a short is the short's doing.
  bool has_short(const Run& run) const;
  // What each of run.shared_with draws, over what it normally does; 1 where it was not seen of late.
  std::vector<double> loads(const Run& run) const;
  // Amps that the others on its common send. normal: of an output by position.
  template <class Normal>
  SharedCommon on_common(const Run& run, Normal normal) const {
    SharedCommon shared;
    for (const int other : run.shared_with)
      if (const int at = site_.index_of(other);
          at >= 0 && common_of(at) == common_of(site_.index_of(run.zone)))
        add(shared, run, at, normal(at));
    return shared;
  }

 private:
  int common_of(int at) const { return site_.zones[static_cast<std::size_t>(at)].common; }
  const Observation* lately(int at, const Run& run) const;
  void add(SharedCommon& shared, const Run& run, int at, const NormalDraw& normal) const;

  const SiteElectrics& site_;
  const std::vector<ZoneFilter>& filters_;
};

}  // namespace coilward
