// From a simulated splice that corrodes, through all stages, to what is forecast of it: held against the day
// on which the zone really draws too little to lift its plunger.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>
#include <nlohmann/json.hpp>

#include "daemon/host/plugin_host.h"
#include "daemon/simulate/simulation.h"
#include "daemon/site_pipeline.h"

namespace coilward {
namespace {

constexpr std::string_view kToml = R"([site]
id = "juniper-row-12"
[[box]]
id = "A"
metres = 18
[[box]]
id = "B"
from = "A"
metres = 31
[[zone]]
number = 1
box = "A"
[[zone]]
number = 2
box = "A"
[[zone]]
number = 3
box = "B"
[[zone]]
number = 4
box = "B"
)";
const UtcTime kFirstDay = *parse_rfc3339("2026-05-04T00:00:00Z");
double day_of(UtcTime time) { return seconds_between(kFirstDay, time) / 86'400; }

struct Said {
  double on_day = 0;
  LiftForecast forecast;
};

class CorrodingSite final : public PipelineListener {
 public:
  // fault: as for `coilward simulate`.
  CorrodingSite(const std::string& fault, double days) : intake_(std::move(*Intake::make(config, host_))) {
    simulate::Channels channels;
    channels.supply_volts = true;
    auto scenario = simulate::scenario_of(config, channels, kFirstDay, days, 7);
    scenario.faults = {*simulate::parse_fault(fault, config)};
    simulate::settle_fault(scenario.faults[0], config, 7);
    pipeline_.emplace(config, *intake_, *this);
    simulate::Simulation simulation(std::move(scenario));
    for (simulate::SimulatedMessage made; simulation.next(made);) {
      coilward::Message message;
      message.topic = made.topic;
      message.payload = made.payload;
      message.arrival = made.arrival;
      message.retained = made.retained;
      pipeline_->advance(made.arrival);
      pipeline_->message(message);
    }
  }

  void on_run(const coilward::Run& run) override {
    if (measured(run.hold_amps)) levels_[run.zone].push_back({day_of(run.start), run.hold_amps});
  }
  void on_finding(const Finding& finding) override { hear(finding); }
  void on_forecast(const Finding& finding) override { hear(finding); }

  // The day from which the zone draws less than the share of what it drew in its first ten days.
  double falls_below(int zone, double share) const {
    double usual = 0;
    int early = 0;
    for (const auto& [day, amps] : levels_.at(zone))
      if (day < 10) usual += amps, ++early;
    for (const auto& [day, amps] : levels_.at(zone))
      if (amps < share * usual / early) return day;
    return kNotMeasured;
  }

  const Config config = *parse_config(kToml, "site.toml");
  std::map<std::string, std::vector<Said>> said;  // by fault
  const Pipeline& pipeline() const { return *pipeline_; }

 private:
  void hear(const Finding& finding) {
    if (!finding.forecast || !finding.is_open()) return;
    const double today = levels_.empty() ? 0 : levels_.begin()->second.back().first;
    said[std::string(fault_name(finding.fault))].push_back({today, *finding.forecast});
  }

  PluginHost host_{COILWARD_BINARY_DIR "/plugins"};
  std::unique_ptr<Intake> intake_;
  std::optional<Pipeline> pipeline_;
  std::map<int, std::vector<std::pair<double, double>>> levels_;
};

// Of what was said before it happened: how often the interval held it, and by how many days the last was off.
void expect_true_forecasts(const CorrodingSite& site, const std::string& fault, int zone) {
  const double truth = site.falls_below(zone, site.config.forecast.lift_share);
  ASSERT_TRUE(measured(truth));
  ASSERT_TRUE(site.said.contains(fault));
  int held = 0, before = 0;
  for (const Said& one : site.said.at(fault)) {
    if (one.on_day > truth) continue;
    ++before;
    const auto& lift = one.forecast.lift;
    const bool holds = day_of(lift.low) <= truth && truth <= day_of(lift.high);
    held += holds;
    fmt::print("on day {:.0f}: zone {} from {:.0f} to {:.0f}, likely {:.0f}; truth {:.0f}{}\n", one.on_day,
               one.forecast.zone, day_of(lift.low), day_of(lift.high), day_of(lift.likely), truth,
               holds ? "" : "  missed");
    EXPECT_EQ(one.forecast.zone, zone);
  }
  ASSERT_GT(before, 0) << "it was said too late to be of use";
  EXPECT_GE(held, 0.5 * before) << "one splice's forecasts are not independent: most of them hold";
  EXPECT_NEAR(day_of(site.said.at(fault)[static_cast<std::size_t>(before - 1)].forecast.lift.likely), truth,
              7);
}

TEST(ForecastPath, AZonesSpliceIsForecastBeforeItsValveNoLongerOpens) {
  const CorrodingSite site("high_resistance:zone=4,day=20,ohms=1,per_day=1", 60);
  expect_true_forecasts(site, "high_resistance", 4);
}

// All zones of box B feel the same ohms; the one that draws most fails first.
TEST(ForecastPath, ACommonsSpliceIsForecastForTheZoneThatFailsFirst) {
  const CorrodingSite site("common_high_resistance:segment=B,day=20,ohms=1,per_day=1", 60);
  ASSERT_TRUE(site.said.contains("common_high_resistance"));
  const int first = site.said.at("common_high_resistance").front().forecast.zone;
  EXPECT_LE(site.falls_below(first, 0.8), site.falls_below(first == 3 ? 4 : 3, 0.8));
  expect_true_forecasts(site, "common_high_resistance", first);
}

}  // namespace
}  // namespace coilward
