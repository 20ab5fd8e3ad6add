// One output's latest observations and what is believed of it alone (a hidden Markov chain's forward filter
// over the hypotheses, and for each a Kalman filter over what it leaves open). What lies before the kept
// observations is summed up in one belief.
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

struct Followed {
  double log_evidence = 0;  // of the observations so far; only differences mean something
  Belief belief;
};

class ZoneFilter {
 public:
  explicit ZoneFilter(const ZoneElectrics& zone, double source_ohms);

  // A look at a run: replaces an earlier look at the same run.
  void add(const Observation& observation);
  // Forward through the kept observations under what is known to act from outside: what comes out is
  // followed(), and settles what leaves the window for good. version: another one where the effect is
  // another.
  void follow(const EffectAt& standing, std::uint64_t version);
  // After the latest observation.
  const Followed& followed() const { return trail_.back(); }
  // The same for an effect that is as the standing one on all runs before `from`.
  Followed follow_from(UtcTime from, const EffectAt& effect) const;
  // Up to the runs before `from`; and what the runs from then on could add at most, whatever is wrong.
  double evidence_before(UtcTime from) const { return trail_[position_of(from)].log_evidence; }
  double best_evidence_from(UtcTime from) const;

  // The normal draw has learned from the latest one.
  void taught() { window_.back().taught = true; }

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
  struct Effects {  // from outside, on a run and on the one before
    std::optional<Prediction> now, before;
  };
  void advance(Followed& state, const Observation* last, const Observation& seen,
               const Effects& effects) const;
  const Observation* before(std::size_t position) const;
  std::size_t position_of(UtcTime from) const;

  ZoneHypotheses hypotheses_;
  std::optional<Observation> left_;  // the latest one that is not kept any more
  std::deque<Observation> window_;
  std::deque<double> most_;     // of each kept observation: logarithm of the most that it could add
  std::deque<Followed> trail_;  // before the oldest kept observation, and after each, as far as followed
  std::uint64_t version_ = 0;
};

}  // namespace coilward
