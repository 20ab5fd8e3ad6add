#include "daemon/simulate/truth.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

namespace coilward::simulate {
namespace {

std::string instant(const Scenario& scenario, double seconds) {
  return format_rfc3339(scenario.start + Millis{std::llround(seconds * 1000)});
}

Json incident_json(const Scenario& scenario, const Incident& it) {
  const char* name = it.kind == Incident::Kind::gap               ? "gap"
                     : it.kind == Incident::Kind::coil_replaced   ? "coil_replaced"
                     : it.kind == Incident::Kind::sensor_replaced ? "sensor_replaced"
                     : it.kind == Incident::Kind::restart         ? "restart"
                                                                  : "retained";
  Json json{{"incident", name}, {"begin", instant(scenario, it.begin_s)}};
  if (it.kind == Incident::Kind::gap) json["end"] = instant(scenario, it.end_s);
  const bool of_zone = it.kind == Incident::Kind::coil_replaced || it.kind == Incident::Kind::sensor_replaced;
  if (of_zone) json["zone"] = it.zone;
  return json;
}

Json channels_json(const Scenario& scenario) {
  std::set<std::string> kinds;
  for (const SensorPlan& sensor : scenario.sensors) {
    std::string name = channel_text(sensor.channel, scenario.config);
    const std::size_t first = name.find('/'), last = name.rfind('/');
    if (first != last) name = name.substr(0, first) + name.substr(last);  // zone/4/current -> zone/current
    kinds.insert(name + (sensor.burst ? " burst" : ""));
  }
  return kinds;
}

}  // namespace

void Truth::on_turn(int zone, double time) {
  ++runs_;
  note(zone, time);
}

void Truth::note(int zone, double time) {
  for (std::size_t i = 0; i < scenario_.faults.size(); ++i) {
    const FaultPlan& fault = scenario_.faults[i];
    if (!is_active(fault, time) || spoiled_[i].size() >= kKept) continue;
    const auto zones = fault_zones(fault, scenario_.config);
    if (std::binary_search(zones.begin(), zones.end(), zone)) spoiled_[i].push_back({zone, time});
  }
}

Json Truth::fault(std::size_t which) const {
  const FaultPlan& plan = scenario_.faults[which];
  Json json = fault_to_json(plan, scenario_.config, scenario_.start);
  Json runs = Json::array();
  for (const Spoiled& it : spoiled_[which]) {
    Json run{{"zone", it.zone}, {"start", instant(scenario_, it.time)}};
    if (plan.ohms_per_day > 0) run["ohms"] = grown_ohms(plan, it.time);
    runs.push_back(std::move(run));
  }
  json["affected_runs"] = std::move(runs);
  return json;
}

Json Truth::to_json() const {
  Json json{{"site", scenario_.config.site.id},
            {"seed", scenario_.seed},
            {"start", format_rfc3339(scenario_.start)},
            {"days", scenario_.days},
            {"zones", scenario_.config.zones.size()},
            {"hertz", scenario_.config.supply.hertz},
            {"runs", runs_},
            {"channels", channels_json(scenario_)}};
  json["faults"] = Json::array();
  for (std::size_t i = 0; i < scenario_.faults.size(); ++i) json["faults"].push_back(fault(i));
  json["incidents"] = Json::array();
  for (const Incident& it : scenario_.incidents) json["incidents"].push_back(incident_json(scenario_, it));
  return json;
}

}  // namespace coilward::simulate
