// Sequential linear-Gaussian estimation (Kalman 1960) of a few states that all zones share and of two that
// each zone has for itself. Observations touch a handful of states, so an update costs the square of the
// number of states. Thread: one at a time.
#pragma once

#include <span>
#include <vector>

#include "daemon/base/pipeline_json.h"

namespace coilward {

// One state and how strongly an observation depends on it.
struct Loading {
  std::size_t state;
  double weight;
};

struct Forecast {
  double mean;
  double variance;  // of the observation without its own noise
};

class JointFilter {
 public:
  // Adds a state; returns its place.
  std::size_t add(double mean, double variance);
  std::size_t size() const { return mean_.size(); }

  Forecast forecast(std::span<const Loading> loadings) const;
  double covariance(std::span<const Loading> a, std::span<const Loading> b) const;

  // Takes in a value seen with noise of `variance`.
  void observe(std::span<const Loading> loadings, double value, double variance);

  // The same, but only what was said of `moved` changes: the others are taken as what they are thought to be,
  // and as surely (Schmidt 1966).
  void consider(std::span<const Loading> loadings, double value, double variance,
                const std::vector<std::size_t>& moved);

  // The state wandered: its variance grows.
  void diffuse(std::size_t state, double variance) { at(state, state) += variance; }
  // The state fell back towards zero by `keep` (0..1) while being stirred by `variance`: one step of a
  // mean-reverting process.
  void relax(std::size_t state, double keep, double variance);
  // The state is unknown again: its ties to the others are cut.
  void forget(std::size_t state, double mean, double variance);

  // The state is what the loadings make of others just now: how they go on does not touch it, and what is
  // learned of what they were does (fixed-point smoothing by one state more: Anderson and Moore 1979, chapter
  // 7; from memory).
  void copy(std::span<const Loading> loadings, std::size_t state);

  double mean(std::size_t state) const { return mean_[state]; }
  double variance(std::size_t state) const { return covariance_[state * stride_ + state]; }

  // The first `states` of them.
  Json save(std::size_t states) const;
  // false: of more states than there are; nothing changed. Of fewer, as an earlier version had: the rest are
  // as new.
  bool restore(const Json& saved);

 private:
  double& at(std::size_t row, std::size_t column) { return covariance_[row * stride_ + column]; }
  double at(std::size_t row, std::size_t column) const { return covariance_[row * stride_ + column]; }
  void times(std::span<const Loading> loadings, std::vector<double>& out) const;

  std::vector<double> mean_;
  std::vector<double> covariance_;  // row by row
  std::size_t stride_ = 0;
  mutable std::vector<double> gain_;
};

}  // namespace coilward
