#include "daemon/simulate/sensor_state.h"

namespace coilward::simulate {

// A sensor fault of a zone is its current sensor's; without a zone it is every current sensor's of the site.
bool SensorState::concerns(const FaultPlan& fault) const {
  if (fault.fault != Fault::sensor_fault) return false;
  const bool current =
      plan_.channel.kind == ChannelKind::zone_current || plan_.channel.kind == ChannelKind::master_current;
  return current && (fault.zone < 0 || fault.zone == plan_.channel.index);
}

double SensorState::shown(double true_value, const std::vector<FaultPlan>& faults, double time) {
  double value = sensed(plan_, true_value, chance_);
  for (const FaultPlan& fault : faults) {
    if (!concerns(fault) || !is_active(fault, time)) continue;
    if (fault.trouble == SensorTrouble::gain) value *= fault.gain;
    if (fault.trouble == SensorTrouble::zero) value += fault.amps;
    if (fault.trouble == SensorTrouble::out_of_range) value = fault.amps;
    if (fault.trouble == SensorTrouble::frozen) return last_;
  }
  return last_ = value;
}

bool SensorState::silent(const std::vector<FaultPlan>& faults, double time) const {
  for (const FaultPlan& fault : faults)
    if (concerns(fault) && fault.trouble == SensorTrouble::silent && is_active(fault, time)) return true;
  return false;
}

}  // namespace coilward::simulate
