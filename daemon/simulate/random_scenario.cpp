#include <algorithm>
#include <numbers>

#include "daemon/simulate/day.h"
#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

UtcTime draw_start(Chance& chance) {
  const auto spring = *parse_rfc3339("2026-03-20T00:00:00Z");
  return spring + std::chrono::hours(24 * chance.whole(0, 150));
}

// What the owner leaves out of the file, now that the coils in the ground are drawn.
void forget_ratings(Config& config, Chance& chance) {
  const bool hold = chance.happens(0.5), inrush = hold && chance.happens(0.6);
  for (ZoneConfig& zone : config.zones) {
    if (!hold) zone.hold_amps = kNotMeasured;
    if (!inrush) zone.inrush_amps = kNotMeasured;
  }
  config.master.output.hold_amps = config.master.output.inrush_amps = kNotMeasured;
}

// Sensors with topics of their own need an entry each in the configuration.
void map_topics(Scenario& scenario, Chance& chance) {
  const bool milli = chance.happens(0.5);
  for (SensorPlan& sensor : scenario.sensors) {
    if (sensor.form != PayloadForm::json) continue;
    const std::string unit = sensor.unit;
    if (milli && (unit == "A" || unit == "V")) sensor.unit_scale = 1000;
    sensor.topic = "garden/" + scenario.config.site.id + "/" + sensor.senml_name;
    SensorConfig entry;
    entry.topic = sensor.topic;
    entry.channel = sensor.senml_name;
    entry.decoder = "json";
    entry.unit = sensor.unit_scale == 1000 ? "m" + unit : unit;
    entry.settings["value"] = "/reading/value";
    if (sensor.own_time) entry.settings["time"] = "/reading/t";
    scenario.config.sensors.push_back(std::move(entry));
  }
}

void draw_incidents(Scenario& scenario, const SensorMake& make, Chance& chance) {
  if (chance.happens(0.3)) scenario.incidents.push_back({Incident::Kind::retained});
  if (chance.happens(0.3)) {
    const double begin = chance.between(1, std::max(1.5, scenario.days)) * kDay;
    scenario.incidents.push_back({Incident::Kind::gap, begin, begin + chance.scale(600, 2 * kDay)});
  }
  if (chance.happens(0.35)) {
    const double begin = chance.between(0.5, std::max(1.0, scenario.days)) * kDay;
    scenario.incidents.push_back({Incident::Kind::restart, begin, begin});
  }
  if (chance.happens(0.1)) {
    Incident it{Incident::Kind::sensor_replaced, chance.between(1, std::max(1.5, scenario.days)) * kDay};
    it.zone = chance.pick(scenario.config.zones).number;
    it.gain = chance.about_one(make.gain_sigma * std::numbers::sqrt2);
    it.zero = chance.normal(0.002);
    scenario.incidents.push_back(it);
  }
}

}  // namespace

Scenario random_scenario(std::uint64_t seed, const RandomOptions& options) {
  Chance chance(seed, "scenario");
  Scenario scenario;
  scenario.seed = seed;
  scenario.days = options.days;
  scenario.start = options.start == kNever ? draw_start(chance) : options.start;
  scenario.config = random_config(seed, options);
  scenario.site = draw_true_site(scenario.config, seed);
  forget_ratings(scenario.config, chance);
  scenario.surroundings = draw_surroundings(seed, options.days);
  scenario.programme = draw_programme(scenario.config, seed, options.days);
  const Channels channels = random_channels(seed);
  const SensorMake make = draw_make(seed, channels, static_cast<int>(scenario.config.zones.size()));
  scenario.sensors = make_sensors(scenario.config, channels, make, seed);
  map_topics(scenario, chance);
  if (options.incidents) draw_incidents(scenario, make, chance);
  return scenario;
}

}  // namespace coilward::simulate
