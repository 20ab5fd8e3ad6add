#include "daemon/simulate/fault_plan.h"

#include <algorithm>

#include "daemon/simulate/chance.h"
#include "daemon/simulate/day.h"

namespace coilward::simulate {
namespace {

double hashed_unit(double seconds, double period, std::uint64_t salt) {
  std::uint64_t state =
      static_cast<std::uint64_t>(std::max(0.0, seconds / period)) * 0x9E3779B97F4A7C15u ^ salt;
  return static_cast<double>(mix(state) >> 11) * 0x1p-53;
}

std::uint64_t salt_of(const FaultPlan& plan) {
  return static_cast<std::uint64_t>(plan.fault) << 40 ^ static_cast<std::uint64_t>(plan.zone + 2) << 20 ^
         static_cast<std::uint64_t>(plan.begin_s);
}

double usual_ohms(const FaultPlan& plan, Chance& chance) {
  switch (plan.fault) {
    case Fault::shorted_coil:
      return chance.scale(0.05, 1.0);
    case Fault::high_resistance:
      return chance.between(0.5, 6);
    case Fault::common_high_resistance:
      return chance.between(0.5, 6);
    case Fault::earth_leakage:
      return chance.scale(80, 400);
    default:
      return 0;
  }
}

// The zones behind a segment of a common.
std::vector<int> zones_beyond(const FaultPlan& plan, const Config& config) {
  std::vector<int> zones;
  for (const ZoneConfig& zone : config.zones)
    if (zone.common == plan.common && box_is_beyond(config, zone.box, plan.box)) zones.push_back(zone.number);
  return zones;
}

std::vector<int> all_zones(const Config& config) {
  std::vector<int> zones;
  for (const ZoneConfig& zone : config.zones) zones.push_back(zone.number);
  return zones;
}

}  // namespace

bool box_is_beyond(const Config& config, int box, int from) {
  if (from < 0) return true;
  for (; box >= 0; box = config.boxes[static_cast<std::size_t>(box)].parent)
    if (box == from) return true;
  return false;
}

void settle_fault(FaultPlan& plan, const Config& config, std::uint64_t seed) {
  Chance chance(seed, "fault size", salt_of(plan));
  const double ohms = usual_ohms(plan, chance);
  if (!measured(plan.ohms)) plan.ohms = ohms;
  if (!measured(plan.volts)) plan.volts = config.supply.volts * chance.between(0.72, 0.88);
  if (!measured(plan.gain))
    plan.gain = chance.happens(0.5) ? chance.between(0.6, 0.85) : chance.between(1.2, 1.6);
  if (!measured(plan.amps))
    plan.amps = plan.trouble == SensorTrouble::zero ? chance.between(0.03, 0.1) : 65.535;
}

std::vector<int> fault_zones(const FaultPlan& plan, const Config& config) {
  switch (plan.fault) {
    case Fault::failed_common:
    case Fault::common_high_resistance:
      return zones_beyond(plan, config);
    case Fault::supply_low:
    case Fault::supply_lost:
      return all_zones(config);
    case Fault::crossed_wires:
      return {std::min(plan.zone, plan.other), std::max(plan.zone, plan.other)};
    default:
      return plan.zone >= 0 ? std::vector<int>{plan.zone} : all_zones(config);
  }
}

bool is_active(const FaultPlan& plan, double seconds) {
  if (seconds < plan.begin_s || seconds >= plan.end_s) return false;
  return plan.duty >= 1 || hashed_unit(seconds, plan.period_s, salt_of(plan)) < plan.duty;
}

double grown_ohms(const FaultPlan& plan, double seconds) {
  const double grown = plan.ohms + plan.ohms_per_day * (seconds - plan.begin_s) / kDay;
  if (plan.ohms_per_day == 0) return grown;
  return grown * (0.85 + 0.3 * hashed_unit(seconds, kDay, salt_of(plan) ^ 0xABCDu));
}

}  // namespace coilward::simulate
