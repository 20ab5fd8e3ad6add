#include <fmt/format.h>

#include <charconv>
#include <map>
#include <optional>

#include "daemon/simulate/day.h"
#include "daemon/simulate/fault_plan.h"

namespace coilward::simulate {
namespace {

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return {};
  return value;
}

template <class T>
bool choose(std::string_view text, const std::map<std::string_view, T>& choices, T& into) {
  const auto found = choices.find(text);
  if (found != choices.end()) into = found->second;
  return found != choices.end();
}

bool set_word(FaultPlan& plan, std::string_view key, std::string_view value, const Config& config) {
  if (key == "trip")
    return choose<Trip>(value, {{"none", Trip::none}, {"cut_out", Trip::cut_out}, {"fuse", Trip::fuse}},
                        plan.trip);
  if (key == "kind")
    return choose<SensorTrouble>(value,
                                 {{"silent", SensorTrouble::silent},
                                  {"frozen", SensorTrouble::frozen},
                                  {"out_of_range", SensorTrouble::out_of_range},
                                  {"gain", SensorTrouble::gain},
                                  {"zero", SensorTrouble::zero}},
                                 plan.trouble);
  if (key == "segment") return value == "controller" || (plan.box = config.box_by_id(value)) >= 0;
  if (key == "common") return (plan.common = config.common_by_id(value)) >= 0;
  return false;
}

bool set_number(FaultPlan& plan, std::string_view key, double value) {
  const std::map<std::string_view, double*> reals = {
      {"ohms", &plan.ohms},     {"per_day", &plan.ohms_per_day}, {"turns", &plan.turns},
      {"amount", &plan.amount}, {"volts", &plan.volts},          {"gain", &plan.gain},
      {"amps", &plan.amps},     {"intermittent", &plan.duty},    {"period", &plan.period_s},
      {"at", &plan.begin_s},    {"until", &plan.end_s}};
  const std::map<std::string_view, int*> wholes = {
      {"zone", &plan.zone}, {"other", &plan.other}, {"valves", &plan.valves}};
  if (key == "day") return plan.begin_s = value * kDay, true;
  if (key == "until_day") return plan.end_s = value * kDay, true;
  if (key == "skipped") return plan.skipped = value != 0, true;
  if (const auto real = reals.find(key); real != reals.end()) return *real->second = value, true;
  if (const auto whole = wholes.find(key); whole != wholes.end())
    return *whole->second = static_cast<int>(value), true;
  return false;
}

bool needs_zone(Fault fault) {
  switch (fault) {
    case Fault::failed_common:
    case Fault::common_high_resistance:
    case Fault::supply_low:
    case Fault::supply_lost:
    case Fault::sensor_fault:
      return false;
    default:
      return true;
  }
}

Error wrong(std::string what) { return Error{Cause::bad_input, "fault " + std::move(what)}; }

Result<FaultPlan> checked(FaultPlan plan, std::string_view text, const Config& config) {
  if (plan.zone >= 0 && config.zone(plan.zone) == nullptr)
    return wrong(fmt::format("\"{}\": the site has no zone {}", text, plan.zone));
  if (needs_zone(plan.fault) && plan.zone < 0) return wrong(fmt::format("\"{}\" needs zone=", text));
  if (plan.fault == Fault::crossed_wires && (config.zone(plan.other) == nullptr || plan.other == plan.zone))
    return wrong(fmt::format("\"{}\" needs other=, another zone of the site", text));
  if (plan.turns < 0 || plan.turns > 1)
    return wrong(fmt::format("\"{}\": turns is a share from 0 to 1", text));
  return plan;
}

}  // namespace

Result<FaultPlan> parse_fault(std::string_view text, const Config& config) {
  const std::size_t colon = std::min(text.find(':'), text.size());
  const auto fault = fault_from_name(text.substr(0, colon));
  if (!fault)
    return wrong(fmt::format("\"{}\" is not known; the names are those of findings", text.substr(0, colon)));
  FaultPlan plan;
  plan.fault = *fault;
  if (*fault == Fault::shorted_coil) plan.turns = 0;
  std::string_view rest = text.substr(std::min(colon + 1, text.size()));
  while (!rest.empty()) {
    const std::string_view item = rest.substr(0, rest.find(','));
    rest.remove_prefix(std::min(item.size() + 1, rest.size()));
    const std::size_t equals = std::min(item.find('='), item.size());
    const std::string_view key = item.substr(0, equals);
    const std::string_view value = item.substr(std::min(equals + 1, item.size()));
    const auto amount = number(value);
    if (!set_word(plan, key, value, config) && !(amount && set_number(plan, key, *amount)))
      return wrong(fmt::format("\"{}\": \"{}\" is not understood", text, item));
  }
  return checked(plan, text, config);
}

}  // namespace coilward::simulate
