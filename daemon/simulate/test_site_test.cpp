#include <gtest/gtest.h>
#include <cmath>

#include <nlohmann/json.hpp>

#include "daemon/simulate/day.h"
#include "daemon/simulate/test_site.h"

namespace coilward::simulate {

Config test_config() {
  Config config;
  config.site.id = "six";
  config.commons.push_back({"main", {2.08, 14}});
  config.boxes = {{"A", "controller", 20, -1}, {"B", "A", 30, 0}, {"C", "B", 30, 1}};
  for (int number = 1; number <= 6; ++number) {
    ZoneConfig zone;
    zone.number = number;
    zone.box = (number - 1) / 2;
    zone.wire = {0.823, 18};
    zone.valves = number == 6 ? 2 : 1;
    zone.hold_amps = 0.23;
    zone.inrush_amps = 0.40;
    config.zones.push_back(zone);
  }
  return config;
}

Scenario test_scenario(const std::vector<std::string>& faults, double days) {
  const Channels channels{true, true, true, true, true, true, true};
  Scenario scenario = scenario_of(test_config(), channels, *parse_rfc3339("2026-05-04T00:00:00Z"), days, 11);
  Programme programme;
  programme.start_minutes = {60};
  for (int zone = 1; zone <= 6; ++zone) programme.turns.push_back({{zone}, kTurn});
  programme.gap_s = 5;
  scenario.programme = {};
  scenario.programme.programmes = {programme};
  scenario.surroundings.brown_outs.clear();
  scenario.surroundings.slow_volts = scenario.surroundings.fast_volts = 0;
  for (SensorPlan& sensor : scenario.sensors) {
    sensor.form = PayloadForm::number;
    sensor.burst = false;
    sensor.gain = 1;
    sensor.zero = sensor.floor = sensor.noise = sensor.noise_share = 0;
    sensor.quantum = 0.0001;
    if (sensor.channel.kind != ChannelKind::zone_current) sensor.idle_s = 600;
    if (sensor.channel.kind == ChannelKind::zone_voltage) sensor.quick_s = 5;
  }
  for (const std::string& text : faults) {
    auto fault = parse_fault(text, scenario.config);
    EXPECT_TRUE(fault) << text;
    settle_fault(*fault, scenario.config, 1);
    scenario.faults.push_back(*fault);
  }
  return scenario;
}

SeenChannels::SeenChannels(Scenario scenario) {
  const UtcTime start = scenario.start;
  const std::string prefix = "coilward/six/measure/";
  Simulation simulation(std::move(scenario));
  for (SimulatedMessage message; simulation.next(message);) {
    const std::string channel = message.topic.substr(prefix.size());
    const Seen seen{seconds_between(start, message.arrival), std::stod(message.payload)};
    auto& readings = channels_[channel];
    const bool rose = seen.value == 1 && (readings.empty() || readings.back().value == 0);
    if (rose && channel.ends_with("/command"))
      starts_.try_emplace({std::stoi(channel.substr(5)), static_cast<int>(seen.time / kDay)}, seen.time);
    readings.push_back(seen);
  }
  truth_ = simulation.truth();
}

bool SeenChannels::ran(int zone, int day) const { return starts_.contains({zone, day}); }
double SeenChannels::start_of(int zone, int day) const {
  return ran(zone, day) ? starts_.at({zone, day}) : kNotMeasured;
}

double SeenChannels::mean(const std::string& channel, int zone, int day) const {
  const double start = start_of(zone, day);
  double sum = 0;
  int count = 0;
  for (const Seen& seen : of(channel))
    if (seen.time > start + 5 && seen.time < start + kTurn - 5) sum += seen.value, ++count;
  return count > 0 ? sum / count : kNotMeasured;
}

double SeenChannels::current(int zone, int day) const {
  return mean("zone/" + std::to_string(zone) + "/current", zone, day);
}

std::size_t SeenChannels::count(const std::string& channel, double from_s, double to_s) const {
  std::size_t count = 0;
  for (const Seen& seen : of(channel)) count += seen.time >= from_s && seen.time < to_s;
  return count;
}

const std::vector<Seen>& SeenChannels::of(const std::string& channel) const {
  static const std::vector<Seen> nothing;
  const auto found = channels_.find(channel);
  return found == channels_.end() ? nothing : found->second;
}

}  // namespace coilward::simulate
