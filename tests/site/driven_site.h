// A site driven by hand: messages and time in; commit units, reports and alerts out. Three zones on A - B,
// run in turn once a day.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/site.h"

namespace coilward {

inline constexpr std::string_view kDrivenToml = R"([site]
id = "juniper-row-12"
[[box]]
id = "A"
metres = 18
[[box]]
id = "B"
from = "A"
metres = 31
[[zone]]
number = 3
box = "A"
[[zone]]
number = 4
box = "B"
[[zone]]
number = 5
box = "B"
[[notifier]]
name = "n"
plugin = "command"
run = ["/bin/true"]
)";

struct DrivenReport {
  std::string topic, payload;
  bool retained;
};

// Thread: the test's. Time passes when the test says so.
class DrivenSite : public testing::Test {
 protected:
  DrivenSite() { restart(); }
  void restart() {
    units.clear();
    auto intake = Intake::make(config, host);
    EXPECT_TRUE(intake) << intake.error().what;
    site.reset();
    intake_ = std::move(*intake);
    SiteLinks links;
    links.commit = [this](CommitUnit unit) { units.push_back(std::move(unit)); };
    links.publish = [this](const std::string& topic, const std::string& payload, bool retained) {
      reports.push_back({topic, payload, retained});
    };
    links.health = [] { return std::vector<HealthStage>(); };
    links.metrics = [] { return std::vector<Metric>(); };
    links.committing = [](Channel) { return std::vector<Reading>(); };
    site = std::make_unique<Site>(config, *intake_, clock, "0.1.0", std::move(links));
  }

  void say(const std::string& channel, const std::string& payload, bool keep = true) {
    const std::string topic = "coilward/juniper-row-12/measure/" + channel;
    Message message;
    message.topic = topic;
    message.payload = payload;
    message.arrival = clock.utc();
    message.sequence = ++sequence;
    site->message(message, keep);
  }
  void pass(Millis time) {
    clock.advance(time);
    site->tick();
  }

  // Five minutes on, one minute off, a reading a second.
  void run(int zone, double amps) {
    say(fmt::format("zone/{}/command", zone), "1");
    for (int s = 0; s < 300; ++s) {
      pass(std::chrono::seconds(1));
      say(fmt::format("zone/{}/current", zone), fmt::format("{:.4f}", amps + 0.0001 * (s * 7 % 5 - 2)));
    }
    say(fmt::format("zone/{}/command", zone), "0");
    for (int s = 0; s < 60; ++s) {
      pass(std::chrono::seconds(1));
      say(fmt::format("zone/{}/current", zone), "0.0005");
    }
  }
  void day(double amps_of_4) {
    const UtcTime start = clock.utc();
    run(3, 0.232);
    run(4, amps_of_4);
    run(5, 0.228);
    pass(start + std::chrono::hours(24) - clock.utc());
  }
  void learn(int days = 8) {
    for (int i = 0; i < days; ++i) day(0.230);
  }

  template <class T>
  std::vector<T> committed(std::vector<T> CommitUnit::*list) const {
    std::vector<T> all;
    for (const auto& unit : units) all.insert(all.end(), (unit.*list).begin(), (unit.*list).end());
    return all;
  }
  std::vector<DrivenReport> reports_on(const std::string& part) const {
    std::vector<DrivenReport> found;
    for (const auto& report : reports)
      if (report.topic.find(part) != std::string::npos) found.push_back(report);
    return found;
  }

  const Config config = *parse_config(kDrivenToml, "site.toml");
  PluginHost host{COILWARD_BINARY_DIR "/plugins"};
  FakeClock clock{*parse_rfc3339("2026-05-04T06:00:00Z")};
  std::vector<CommitUnit> units;
  std::unique_ptr<Intake> intake_;
  std::unique_ptr<Site> site;
  std::vector<DrivenReport> reports;
  std::uint64_t sequence = 0;
};

}  // namespace coilward
