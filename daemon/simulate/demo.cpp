#include "daemon/simulate/demo.h"

#include <algorithm>

namespace coilward::simulate {
namespace {

ZoneConfig demo_zone(int number, const char* name, int box) {
  ZoneConfig zone;
  zone.number = number;
  zone.name = name;
  zone.box = box;
  zone.wire = {0.823, 18};
  zone.hold_amps = 0.23;
  zone.inrush_amps = 0.40;
  return zone;
}

}  // namespace

Config demo_config() {
  Config config;
  config.file = "demonstration site";
  config.site.id = "demo";
  config.site.name = "Demonstration site";
  config.commons.push_back({"main", {2.08, 14}});
  config.boxes.push_back({"A", "controller", 18, -1});
  config.boxes.push_back({"B", "A", 31, 0});
  config.zones = {demo_zone(1, "Front lawn", 0), demo_zone(2, "Roses", 0), demo_zone(3, "Vegetables", 1),
                  demo_zone(4, "East hedge", 1)};
  return config;
}

void make_demo(Scenario& scenario) {
  Programme programme;
  for (const ZoneConfig& zone : scenario.config.zones)
    programme.turns.push_back({{zone.number}, kDemoTurnSeconds});
  programme.gap_s = kDemoGapSeconds;
  programme.every_seconds = static_cast<int>(
      static_cast<double>(programme.turns.size()) * (kDemoTurnSeconds + kDemoGapSeconds) + 1);
  scenario.programme = {};
  scenario.programme.programmes = {programme};
  for (SensorPlan& sensor : scenario.sensors) {
    sensor.quick_s = std::min(sensor.quick_s, 0.2);
    sensor.idle_s = std::min(sensor.idle_s, 5.0);
    sensor.own_time = false;
  }
  if (!scenario.faults.empty()) return;
  FaultPlan fault;
  fault.fault = Fault::open_circuit;
  fault.begin_s = kDemoFaultSeconds;
  fault.zone = scenario.config.zones[std::min<std::size_t>(1, scenario.config.zones.size() - 1)].number;
  scenario.faults.push_back(fault);
}

}  // namespace coilward::simulate
