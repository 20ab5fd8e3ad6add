// Where nobody measures the volts: how the mains move is learned, from day to day and within a watering, and
// what the supply was during a run shows better when the neighbours have run as well.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "daemon/draw/draw_model.h"

namespace coilward {
namespace {

// Five outputs, one after the other, each day at five; the mains of each day are another.
struct Days {
  Config config;
  SiteElectrics site;
  UtcTime now = *parse_rfc3339("2026-04-01T05:00:00Z");
  std::mt19937 random{5};

  Days() {
    config.commons.push_back({"main", {2.08, 14, false}});
    for (int i = 1; i <= 5; ++i) {
      ZoneConfig zone;
      zone.number = i;
      zone.wire = {0.823, 18, false};
      config.zones.push_back(zone);
    }
    site = site_electrics(config);
  }

  Run run(int zone, double factor) {
    std::normal_distribution<double> n(0, 0.002);
    Run run;
    run.zone = zone;
    run.start = now;
    run.readings = 60;
    run.hold_amps = 0.25 * factor * (1 + n(random));
    run.hold_spread_amps = 0.001;
    now += std::chrono::minutes(10);
    return run;
  }

  void learn_day(DrawModel& model, double factor) {
    for (int zone = 1; zone <= 5; ++zone) learn(model, run(zone, factor));
    next_day();
  }
  void learn(DrawModel& model, const Run& seen) {
    model.pass(seen.start);
    model.began(seen.zone - 1, seen.start);
    model.learn(model.sample(seen), 1);
  }
  void next_day() { now = std::chrono::floor<std::chrono::days>(now) + std::chrono::hours(29); }

  double sd(DrawModel& model, int zone) {
    const Run next = run(zone, 1);
    model.pass(next.start);
    return model.forecast(model.sample(next)).hold.sd;
  }
};

double off(const DrawModel& model, const Run& run) {
  const DrawSample sample = model.sample(run);
  return std::log(sample.hold_amps / model.forecast(sample).hold.amps);
}

// Deviations of a run after the night, and of one after its neighbour, when the days differ by so much.
std::pair<double, double> learned(double days_differ) {
  Days days;
  DrawModel model(days.site);
  std::normal_distribution<double> mains(0, days_differ);
  for (int day = 0; day < 25; ++day) days.learn_day(model, std::exp(mains(days.random)));
  const double first = days.sd(model, 1);
  days.learn(model, days.run(1, 1));
  return {first, days.sd(model, 2)};
}

TEST(SupplyWander, DaysThatDifferDoNotMakeTheHoursVague) {
  const auto [calm_first, calm_second] = learned(0.004);
  const auto [first, second] = learned(0.03);
  EXPECT_LT(calm_first, 0.013);
  EXPECT_GT(first, 0.015);
  EXPECT_LT(first, 0.045);
  EXPECT_LT(second, first / 3);
  EXPECT_LT(calm_second, calm_first);
}

// The first output of the day draws a twentieth less, and teaches nothing: the supply, as its neighbours
// show.
TEST(SupplyWander, NeighboursTellWhatItWasBefore) {
  Days days;
  DrawModel model(days.site);
  for (int day = 0; day < 20; ++day) days.learn_day(model, 1);
  const coilward::Run first = days.run(1, 0.95);
  model.pass(first.start);
  model.began(0, first.start);
  const double sd = model.forecast(model.sample(first)).hold.sd;
  EXPECT_LT(off(model, first), -2 * sd);
  for (int zone = 2; zone <= 4; ++zone) days.learn(model, days.run(zone, 0.95));
  EXPECT_NEAR(off(model, first), 0, 0.012);
  EXPECT_LT(model.forecast(model.sample(first)).hold.sd, 0.8 * sd);
  // Its own loss beside that stays its own.
  coilward::Run lost = first;
  lost.hold_amps *= 0.9;
  EXPECT_NEAR(off(model, lost), std::log(0.9), 0.012);
}

TEST(SupplyWander, ItsScaleIsKeptOverARestart) {
  Days days;
  DrawModel model(days.site), other(days.site);
  for (int day = 0; day < 15; ++day) days.learn_day(model, day % 2 ? 0.96 : 1.04);
  ASSERT_TRUE(other.restore(model.save()));
  Days same = days;
  EXPECT_NEAR(days.sd(model, 1), same.sd(other, 1), 1e-4);
}

}  // namespace
}  // namespace coilward
