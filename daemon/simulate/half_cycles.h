// What a sensor sees of a wave: its RMS over each half cycle.
#pragma once

#include <cmath>
#include <vector>

namespace coilward::simulate {

// Several waves, sampled together at equal steps. Thread: one.
class HalfCycles {
 public:
  HalfCycles(std::size_t waves, double half_cycle_s)
      : rms(waves), squares_(waves), edge_(half_cycle_s), step_(edge_) {}

  void add(std::size_t wave, double value) { squares_[wave] += value * value; }
  // All waves of this moment were added; `next` is the time of the next one.
  void end_moment(double next) {
    ++moments_;
    if (next < edge_) return;
    for (std::size_t i = 0; i < squares_.size(); ++i) {
      rms[i].push_back(std::sqrt(squares_[i] / moments_));
      squares_[i] = 0;
    }
    moments_ = 0;
    edge_ += step_;
  }

  std::vector<std::vector<double>> rms;  // [wave][half cycle]

 private:
  std::vector<double> squares_;
  int moments_ = 0;
  double edge_, step_;
};

}  // namespace coilward::simulate
