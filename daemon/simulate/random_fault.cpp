#include <algorithm>
#include <limits>

#include "daemon/simulate/day.h"
#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

int any_zone(const Config& config, Chance& chance) { return chance.pick(config.zones).number; }

int zone_with_valves(const Config& config, Chance& chance) {
  std::vector<int> several;
  for (const ZoneConfig& zone : config.zones)
    if (zone.valves > 1) several.push_back(zone.number);
  return several.empty() ? -1 : chance.pick(several);
}

// A segment with something behind it.
void draw_segment(FaultPlan& plan, const Config& config, Chance& chance) {
  std::vector<std::pair<int, int>> segments;
  for (int common = 0; common < static_cast<int>(config.commons.size()); ++common)
    for (int box = 0; box < static_cast<int>(config.boxes.size()); ++box) {
      plan.common = common, plan.box = box;
      if (!fault_zones(plan, config).empty()) segments.emplace_back(common, box);
    }
  plan.common = 0, plan.box = -1;
  if (!segments.empty()) std::tie(plan.common, plan.box) = chance.pick(segments);
}

void draw_size(FaultPlan& plan, Chance& chance) {
  if (plan.fault == Fault::shorted_coil) {
    plan.turns = chance.happens(0.5) ? 0 : chance.between(0.45, 0.85);
    plan.trip = chance.pick<Trip>({Trip::cut_out, Trip::cut_out, Trip::none});
    plan.amount = plan.turns > 0 ? chance.between(0, 1) : 1;
  }
  if (plan.fault == Fault::high_resistance || plan.fault == Fault::common_high_resistance) {
    plan.ohms = chance.between(0.1, 1.5);
    plan.ohms_per_day = chance.scale(0.15, 3);
  }
  if (plan.fault == Fault::plunger_not_seated) plan.amount = chance.between(0.6, 1);
  if (plan.fault == Fault::missed_run) plan.skipped = chance.happens(0.5);
  if (plan.fault == Fault::stuck_on) plan.end_s = plan.begin_s + chance.scale(7200, 2 * kDay);
  if (plan.fault == Fault::open_circuit && chance.happens(0.15)) plan.duty = chance.between(0.3, 0.8);
}

void draw_trouble(FaultPlan& plan, Chance& chance) {
  plan.trouble =
      chance.pick<SensorTrouble>({SensorTrouble::silent, SensorTrouble::frozen, SensorTrouble::out_of_range,
                                  SensorTrouble::gain, SensorTrouble::zero});
}

}  // namespace

FaultPlan random_fault(Fault fault, const Scenario& scenario, double earliest_s, double latest_s,
                       std::uint64_t seed) {
  Chance chance(seed, "random fault", static_cast<std::uint64_t>(fault));
  const Config& config = scenario.config;
  FaultPlan plan;
  plan.fault = fault;
  plan.begin_s = chance.between(earliest_s, latest_s);
  plan.zone = any_zone(config, chance);
  if (fault == Fault::failed_common || fault == Fault::common_high_resistance) {
    plan.zone = -1;
    draw_segment(plan, config, chance);
  }
  if (fault == Fault::supply_low || fault == Fault::supply_lost) plan.zone = -1;
  if (fault == Fault::partial_open) plan.zone = zone_with_valves(config, chance);
  if (fault == Fault::partial_open && plan.zone < 0)
    plan.fault = Fault::open_circuit, plan.zone = any_zone(config, chance);
  while (fault == Fault::crossed_wires && (plan.other < 0 || plan.other == plan.zone))
    plan.other = any_zone(config, chance);
  if (fault == Fault::sensor_fault) draw_trouble(plan, chance);
  draw_size(plan, chance);
  settle_fault(plan, config, seed);
  return plan;
}

}  // namespace coilward::simulate
