#include "daemon/simulate/sensor.h"

#include <algorithm>
#include <cmath>

namespace coilward::simulate {

double sensed(const SensorPlan& plan, double true_value, Chance& chance) {
  const ChannelKind kind = plan.channel.kind;
  const bool signed_value = kind == ChannelKind::air_temperature || kind == ChannelKind::soil_temperature;
  double value = plan.gain * std::copysign(std::hypot(true_value, plan.floor), true_value) + plan.zero;
  value += chance.normal(std::hypot(plan.noise, plan.noise_share * true_value));
  if (plan.quantum > 0) value = std::round(value / plan.quantum) * plan.quantum;
  return signed_value ? value : std::max(0.0, value);
}

}  // namespace coilward::simulate
