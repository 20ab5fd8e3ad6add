// A sensor at work: its chance, what it said last, and what its own troubles make of what it says.
#pragma once

#include <cstdint>
#include <vector>

#include "daemon/simulate/fault_plan.h"
#include "daemon/simulate/sensor.h"

namespace coilward::simulate {

class SensorState {
 public:
  SensorState(const SensorPlan& plan, std::uint64_t seed, std::uint64_t index)
      : plan_(plan), chance_(seed, "sensor", index) {}

  const SensorPlan& plan() const { return plan_; }
  Chance& chance() { return chance_; }

  // What it shows for a true value, its troubles included.
  double shown(double true_value, const std::vector<FaultPlan>& faults, double time);
  // Another specimen takes its place.
  void replace(double gain, double zero) {
    plan_.gain *= gain;
    plan_.zero += zero;
  }
  bool silent(const std::vector<FaultPlan>& faults, double time) const;

  std::uint32_t age = 0;  // rises when its next sample is planned anew

 private:
  bool concerns(const FaultPlan& fault) const;

  SensorPlan plan_;
  Chance chance_;
  double last_ = 0;
};

}  // namespace coilward::simulate
