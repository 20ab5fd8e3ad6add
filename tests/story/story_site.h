// A simulated site for a story: five boxes in a row with a zone in each, runs of seconds, and a controller
// that waters which zones the story says. Its past is a recording; its present goes to a real broker.
#pragma once

#include <gtest/gtest.h>

#include <stop_token>

#include "daemon/simulate/demo.h"
#include "daemon/simulate/live.h"
#include "daemon/simulate/recording_writer.h"
#include "daemon/simulate/simulation.h"

namespace coilward {

class StorySite {
 public:
  explicit StorySite(const std::string& broker_url)
      : healthy_(simulate::scenario_of(config_of(broker_url), {}, kNever, kPastDays, kSeed)) {
    // Long before this hour, so that nothing is due while the story is told.
    const UtcTime today = std::chrono::floor<std::chrono::days>(now()), last = now() - std::chrono::hours{5};
    simulate::Programme daily;
    daily.start_minutes = {
        static_cast<int>((last - std::chrono::floor<std::chrono::days>(last)) / std::chrono::minutes{1})};
    for (const ZoneConfig& zone : healthy_.config.zones) daily.turns.push_back({{zone.number}, 240});
    healthy_.programme = {};
    healthy_.programme.programmes = {daily};
    healthy_.start = today - std::chrono::days{kPastDays};
    healthy_.days = seconds_between(healthy_.start, now() - std::chrono::minutes{2}) / 86400;
  }

  const simulate::Scenario& truth() const { return healthy_; }

  // `alerts`: a file that each alert's JSON goes to, byte for byte, one after the other.
  std::string toml(const std::string& alerts) const {
    return simulate::config_text(healthy_.config) +
           fmt::format(
               "\n[alerts]\ngroup_s = 0.5\n[[notifier]]\nname = \"phone\"\nplugin = \"command\"\n"
               "run = [\"/usr/bin/tee\", \"-a\", \"{}\"]\n",
               alerts);
  }

  // Until shortly before now.
  void record(const std::string& file) const {
    simulate::Simulation past(healthy_);
    auto writer = simulate::RecordingWriter::open(file);
    ASSERT_TRUE(writer) << writer.error().what;
    for (simulate::SimulatedMessage message; past.next(message);) ASSERT_TRUE(writer->write(message));
    ASSERT_TRUE(writer->finish());
  }

  // Each zone has a turn now, with what is wrong at that time; returns when the last one is over.
  void water(const std::vector<int>& zones, std::vector<simulate::FaultPlan> faults) const {
    simulate::Scenario present = healthy_;
    simulate::make_demo(present);
    auto& programme = present.programme.programmes.front();
    programme.turns.clear();
    for (const int zone : zones) programme.turns.push_back({{zone}, kTurnSeconds});
    programme.every_seconds = 3600;
    for (simulate::SensorPlan& sensor : present.sensors) {
      sensor.quick_s = kQuickSeconds;
      sensor.idle_s = kIdleSeconds;
    }
    present.start = now();
    const double turn_s = kTurnSeconds + simulate::kDemoGapSeconds;
    present.days = (static_cast<double>(zones.size()) * turn_s + 1.5 * kIdleSeconds) / 86400;
    present.faults = std::move(faults);
    simulate::Simulation live(std::move(present));
    const auto sent = simulate::publish_live(live, "", 1, std::stop_token());
    ASSERT_TRUE(sent) << sent.error().what;
  }

  // Broken between this box and the one before it.
  simulate::FaultPlan broken_wire(int zone, const std::string& box) const {
    simulate::FaultPlan plan;
    plan.fault = Fault::open_circuit;
    plan.zone = zone;
    plan.box = healthy_.config.box_by_id(box);
    return plan;
  }
  static simulate::FaultPlan poor_splice(int zone, double ohms) {
    simulate::FaultPlan plan;
    plan.fault = Fault::high_resistance;
    plan.zone = zone;
    plan.ohms = ohms;
    return plan;
  }

 private:
  static constexpr int kPastDays = 14;
  // Longer than an "off" is doubted for that comes just after an "on" (daemon/runs/zone_switching.cpp).
  static constexpr double kTurnSeconds = 3.2, kQuickSeconds = 0.1;
  static constexpr double kIdleSeconds = 0.5;  // so that a run is soon seen to be over
  static constexpr std::uint64_t kSeed = 11;

  static UtcTime now() { return std::chrono::time_point_cast<Millis>(std::chrono::system_clock::now()); }
  static Config config_of(const std::string& broker_url) {
    Config config = simulate::demo_config();
    config.site.id = "juniper-row-12";
    config.site.name = "Juniper Row 12";
    config.site.timezone = "UTC";
    config.mqtt.url = broker_url;
    config.boxes = {{"A", "controller", 18, -1},
                    {"B", "A", 31, 0},
                    {"C", "B", 24, 1},
                    {"D", "C", 40, 2},
                    {"E", "D", 22, 3}};
    const ZoneConfig like = config.zones.front();
    config.zones.clear();
    for (int number = 1; number <= 5; ++number) {
      config.zones.push_back(like);
      config.zones.back().number = number;
      config.zones.back().name = number == 5 ? "East hedge" : "Zone " + std::to_string(number);
      config.zones.back().box = number - 1;
    }
    return config;
  }

  simulate::Scenario healthy_;
};

}  // namespace coilward
