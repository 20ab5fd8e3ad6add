// One output's latest observations and the running probabilities of what is wrong with it alone (a hidden
// Markov chain's forward filter). What lies before the kept observations is summed up in one distribution.
#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/diagnosis/zone_hypotheses.h"

namespace coilward {

// What a fault beyond the zone makes of its runs: nullopt where it changes nothing.
using EffectAt = std::function<std::optional<Prediction>(const Observation&)>;

struct FilterResult {
  double log_evidence = 0;           // of the kept observations
  std::vector<double> distribution;  // over the hypotheses, now
};

class ZoneFilter {
 public:
  explicit ZoneFilter(const ZoneElectrics& zone, double source_ohms);

  // A look at a run: replaces an earlier look at the same run. `standing` is what is known to act from
  // outside; it settles what leaves the window for good.
  void add(const Observation& observation, const EffectAt& standing);
  // Forward through the kept observations under what acts from outside: before each, and after the last.
  std::vector<FilterResult> follow(const EffectAt& effect) const;
  // The last of follow(), for an effect that is the same as that of `followed` on all runs before `from`.
  FilterResult follow_from(UtcTime from, const std::vector<FilterResult>& followed,
                           const EffectAt& effect) const;

  // The circuit is known better: predictions follow.
  void refit(const ZoneElectrics& zone, double source_ohms);
  // Repaired, or another coil: start over.
  void restart();

  const std::deque<Observation>& window() const { return window_; }
  const ZoneHypotheses& hypotheses() const { return hypotheses_; }

  Json save() const;
  void restore(const Json& saved);

  // Enough for a fault that shows in one run of three; runs before these are settled.
  static constexpr std::size_t kWindow = 10;

 private:
  // Likelihoods of one observation under every hypothesis with nothing acting from outside, relative to the
  // largest.
  struct Likelihoods {
    double log_top = 0;
    std::vector<float> relative;
  };
  double advance(std::vector<double>& distribution, const Observation& seen, const Likelihoods& cached,
                 const std::optional<Prediction>& effect) const;
  double advance_alone(std::vector<double>& distribution, const Likelihoods& cached) const;
  double advance_under(std::vector<double>& distribution, const Observation& seen,
                       const Prediction& effect) const;
  Likelihoods likelihoods(const Observation& seen) const;

  ZoneHypotheses hypotheses_;
  std::vector<double> before_;  // distribution before the oldest kept observation
  std::deque<Observation> window_;
  std::deque<Likelihoods> cache_;  // by observation
};

}  // namespace coilward
