#include "tools/evaluation/true_faults.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward::evaluate {
namespace {

constexpr Millis kUnknownLength = std::chrono::minutes(10);  // of a turn that was left out
constexpr Millis kSameRun = std::chrono::seconds(90);        // sensors notice a run up to this late

UtcTime instant(const simulate::Scenario& scenario, double seconds) {
  return scenario.start + Millis{std::llround(seconds * 1000)};
}

UtcTime time_of(const Json& json) { return *parse_rfc3339(json.get<std::string>()); }

const char* form_name(simulate::PayloadForm form) {
  switch (form) {
    case simulate::PayloadForm::senml_json:
      return "senml+json";
    case simulate::PayloadForm::senml_cbor:
      return "senml+cbor";
    case simulate::PayloadForm::json:
      return "json";
    default:
      return "number";
  }
}

UtcTime end_of_turn(int zone, UtcTime start, const simulate::Scenario& scenario, UtcTime recording_end,
                    const std::vector<Turn>& turns) {
  for (const Turn& turn : turns)
    if (turn.output == zone && std::chrono::abs(instant(scenario, turn.on_s) - start) < Millis{50})
      return turn.off_s < 0 ? recording_end : instant(scenario, turn.off_s);
  return std::min(recording_end, start + kUnknownLength);
}

TrueFault from_json(const Json& json, const simulate::Scenario& scenario, const std::vector<Turn>& turns) {
  const UtcTime recording_end = instant(scenario, scenario.days * 86400);
  TrueFault fault;
  fault.fault = *fault_from_name(json.at("fault").get<std::string>());
  fault.zones = json.at("zones").get<std::vector<int>>();
  fault.begin = time_of(json.at("onset"));
  fault.end = json.at("until").is_null() ? recording_end : std::min(recording_end, time_of(json.at("until")));
  fault.repaired = fault.end < recording_end;
  fault.comes_and_goes = json.contains("intermittent");
  fault.size = json.at("size").dump();
  if (!json.at("segment").is_null()) {
    fault.from = json.at("segment").at("from").get<std::string>();
    fault.to = json.at("segment").at("to").get<std::string>();
  }
  for (const Json& it : json.at("affected_runs")) {
    AffectedRun run{it.at("zone").get<int>(), time_of(it.at("start"))};
    run.end = end_of_turn(run.zone, run.start, scenario, recording_end, turns);
    run.ohms = it.value("ohms", kNotMeasured);
    fault.runs.push_back(run);
  }
  return fault;
}

}  // namespace

namespace {

std::string incident_text(const simulate::Incident& it) {
  using Kind = simulate::Incident::Kind;
  const double day = it.begin_s / 86400;
  switch (it.kind) {
    case Kind::gap:
      return fmt::format("gap of {:.1f} h on day {:.2f}", (it.end_s - it.begin_s) / 3600, day);
    case Kind::coil_replaced:
      return fmt::format("zone {}'s coil replaced on day {:.2f}", it.zone, day);
    case Kind::sensor_replaced:
      return fmt::format("zone {}'s sensor replaced on day {:.2f} (gain {:.3f}, zero {:+.4f} A)", it.zone,
                         day, it.gain, it.zero);
    case Kind::restart:
      return fmt::format("restart on day {:.2f}", day);
    default:
      return "retained leftovers";
  }
}

}  // namespace

std::vector<std::string> incidents_of(const simulate::Scenario& scenario) {
  std::vector<std::string> texts;
  for (const auto& it : scenario.incidents) texts.push_back(incident_text(it));
  for (const auto& [from, to] : scenario.programme.rain_delays)
    if (from < scenario.days) texts.push_back(fmt::format("rain delay day {:.1f}-{:.1f}", from, to));
  for (const auto& it : scenario.surroundings.brown_outs)
    texts.push_back(fmt::format("brown-out of {:.0f} s and {:.0f}% on day {:.2f}", it.seconds, 100 * it.depth,
                                it.begin_s / 86400));
  if (scenario.programme.programmes.size() > 1)
    texts.push_back(
        fmt::format("programme changed on day {:.0f}", scenario.programme.programmes[1].from_day));
  return texts;
}

void describe(const simulate::Scenario& scenario, SiteRecord& record) {
  record.incidents = incidents_of(scenario);
  for (const ZoneConfig& zone : scenario.config.zones) record.zones.push_back(zone.number);
  record.hertz = static_cast<int>(scenario.config.supply.hertz);
  record.start = scenario.start;
  record.end = instant(scenario, scenario.days * 86400);
  Offered& has = record.offered;
  for (const simulate::SensorPlan& sensor : scenario.sensors) {
    const ChannelKind kind = sensor.channel.kind;
    has.command |= kind == ChannelKind::zone_command;
    has.supply_volts |= kind == ChannelKind::supply_voltage;
    has.zone_volts |= kind == ChannelKind::zone_voltage;
    has.common_current |= kind == ChannelKind::common_current;
    has.temperature |= kind == ChannelKind::soil_temperature || kind == ChannelKind::air_temperature;
    has.burst |= sensor.burst;
    if (kind == ChannelKind::zone_current) has.form = form_name(sensor.form);
  }
}

std::vector<TrueFault> true_faults(const simulate::Scenario& scenario, const Json& truth,
                                   const std::vector<Turn>& turns) {
  std::vector<TrueFault> faults;
  for (const Json& json : truth.at("faults")) {
    faults.push_back(from_json(json, scenario, turns));
    auto& runs = faults.back().runs;
    std::stable_sort(runs.begin(), runs.end(),
                     [](const AffectedRun& a, const AffectedRun& b) { return a.start < b.start; });
  }
  return faults;
}

void note_amps(std::vector<TrueFault>& faults, const std::vector<Run>& runs) {
  for (TrueFault& fault : faults)
    for (AffectedRun& affected : fault.runs)
      for (const Run& run : runs)
        if (run.zone == affected.zone && std::chrono::abs(run.start - affected.start) < kSameRun)
          affected.amps = run.hold_amps;
}

}  // namespace coilward::evaluate
