// The supply where nobody measures it, as states of the joint filter: a slow wander, a part that differs from
// day to day, a part that forgets in hours; how much each stirs is learned. And, for each output, what it was
// when the output's latest run began: that shows better when the neighbours have run as well.
//
// In logarithms of volts over the rated ones. Thread: one at a time; the filter outlives it.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "daemon/base/time.h"
#include "daemon/draw/joint_filter.h"
#include "daemon/draw/learned_scale.h"

namespace coilward {

class Mains {
 public:
  explicit Mains(JointFilter& filter);
  // After the outputs' own states, so that what an earlier version saved still fits; call once.
  void keep_for(std::size_t outputs);

  std::array<Loading, 3> now() const { return {{{slow_, 1.0}, {day_, 1.0}, {hours_, 1.0}}}; }
  // What is of today alone: with the latest runs.
  std::vector<std::size_t> today() const;
  // What lasts from one run to the next.
  Loading lasting() const { return {slow_, 1.0}; }
  // As it was when the output's run of that start began, if that is its latest one.
  std::optional<Loading> then(std::size_t output, UtcTime start) const;
  void began(std::size_t output, UtcTime start);

  void pass(double hours);
  // surprise: squared, of a run without volts, against the variance promised for it.
  void follow(double surprise, double variance);
  // It has moved for good by this much (relative).
  void moved(double relative_sd);

  // Leading states worth keeping over a restart: not what is of the latest runs.
  std::size_t states_kept() const { return filter_.size() - then_.size(); }
  Json save() const;
  void restore(const Json& saved);

 private:
  struct Then {
    std::size_t state = 0;
    UtcTime start = kNever;
  };
  void relax(std::size_t part, double keep, double variance, double& fresh);

  JointFilter& filter_;
  std::size_t slow_, hours_, day_ = 0;
  std::vector<Then> then_;                  // by output
  LearnedScale day_scale_, hours_scale_;    // of the squared wander
  double day_fresh_ = 0, hours_fresh_ = 0;  // of it, since a run without volts was last learned from
};

}  // namespace coilward
