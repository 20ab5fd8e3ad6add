#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/simulate/fault_plan.h"

namespace coilward::simulate {
namespace {

UtcTime instant(UtcTime start, double seconds) {
  return start + Millis{static_cast<std::int64_t>(std::llround(seconds * 1000))};
}

Json segment_of(const FaultPlan& plan, const Config& config) {
  const auto common = static_cast<std::size_t>(plan.common);
  Json segment{{"common", config.commons[common].id}};
  if (plan.box < 0) {
    segment["from"] = segment["to"] = "controller";
    return segment;
  }
  const BoxConfig& box = config.boxes[static_cast<std::size_t>(plan.box)];
  segment["from"] = box.from;
  segment["to"] = box.id;
  return segment;
}

const char* trip_name(Trip trip) {
  return trip == Trip::none ? "none" : trip == Trip::cut_out ? "cut_out" : "fuse";
}

const char* trouble_name(SensorTrouble trouble) {
  switch (trouble) {
    case SensorTrouble::silent:
      return "silent";
    case SensorTrouble::frozen:
      return "frozen";
    case SensorTrouble::out_of_range:
      return "out_of_range";
    case SensorTrouble::gain:
      return "gain";
    default:
      return "zero";
  }
}

Json size_of(const FaultPlan& plan) {
  switch (plan.fault) {
    case Fault::shorted_coil:
      return plan.turns > 0 ? Json{{"turns", plan.turns}, {"valves", plan.valves}}
                            : Json{{"ohms", plan.ohms}, {"trip", trip_name(plan.trip)}};
    case Fault::high_resistance:
    case Fault::common_high_resistance:
      return {{"ohms", plan.ohms}, {"ohms_per_day", plan.ohms_per_day}};
    case Fault::earth_leakage:
      return {{"ohms", plan.ohms}};
    case Fault::partial_open:
      return {{"valves", plan.valves}};
    case Fault::plunger_not_seated:
      return {{"valves", plan.valves}, {"amount", plan.amount}};
    case Fault::stuck_on:
      return {{"amount", plan.amount}};
    case Fault::supply_low:
      return {{"volts", plan.volts}};
    case Fault::sensor_fault:
      return {{"kind", trouble_name(plan.trouble)}, {"gain", plan.gain}, {"amps", plan.amps}};
    case Fault::missed_run:
      return {{"skipped", plan.skipped}};
    default:
      return Json::object();
  }
}

}  // namespace

Json fault_to_json(const FaultPlan& plan, const Config& config, UtcTime start) {
  Json json{{"fault", fault_name(plan.fault)}, {"zones", fault_zones(plan, config)}};
  json["onset"] = format_rfc3339(instant(start, plan.begin_s));
  json["until"] = std::isinf(plan.end_s) ? Json() : Json(format_rfc3339(instant(start, plan.end_s)));
  json["size"] = size_of(plan);
  const bool on_common = plan.fault == Fault::failed_common || plan.fault == Fault::common_high_resistance;
  json["segment"] = on_common ? segment_of(plan, config) : Json();
  if (plan.duty < 1) json["intermittent"] = {{"share", plan.duty}, {"period_s", plan.period_s}};
  return json;
}

}  // namespace coilward::simulate
