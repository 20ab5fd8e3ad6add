#include "daemon/draw/draw_model.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

namespace coilward {
namespace {

// Six outputs on one common, waterings by hand: amps = volts * the output's own admittance * what moves all.
struct Garden {
  Config config;
  SiteElectrics site;
  UtcTime now = *parse_rfc3339("2026-04-01T05:00:00Z");
  std::mt19937 random{3};
  double noise = 0.003;

  Garden() {
    config.commons.push_back({"main", {2.08, 14, false}});
    for (int i = 1; i <= 6; ++i) {
      ZoneConfig zone;
      zone.number = i;
      zone.wire = {0.823, 18, false};
      config.zones.push_back(zone);
    }
    site = site_electrics(config);
  }

  double usual(int zone) const { return 0.22 + 0.01 * zone; }

  Run run(int zone, double factor, double volts = kNotMeasured) {
    std::normal_distribution<double> n(0, noise);
    Run run;
    run.zone = zone;
    run.start = now;
    run.readings = 30;
    run.hold_amps = usual(zone) * factor * (1 + n(random));
    run.hold_spread_amps = 0.002;
    run.supply_volts = volts;
    now += std::chrono::minutes(6);
    return run;
  }

  void next_day() { now = std::chrono::floor<std::chrono::days>(now) + std::chrono::hours(29); }
};

void learn_days(Garden& garden, DrawModel& model, int days, const std::function<double(int, int)>& factor) {
  for (int day = 0; day < days; ++day, garden.next_day())
    for (int zone = 1; zone <= 6; ++zone) model.learn(model.sample(garden.run(zone, factor(day, zone))), 1);
}

// What the model makes of a run: observed over expected, in its own deviations.
double surprise(const DrawModel& model, const Run& run) {
  const DrawSample sample = model.sample(run);
  const DrawForecast forecast = model.forecast(sample);
  return std::log(sample.hold_amps / forecast.hold.amps) / forecast.hold.sd;
}

TEST(DrawModel, LearnsWhatEachOutputDraws) {
  Garden garden;
  DrawModel model(garden.site);
  EXPECT_TRUE(model.provisional(0));
  learn_days(garden, model, 10, [](int, int) { return 1.0; });
  for (int zone = 1; zone <= 6; ++zone) {
    const NormalDraw normal = model.normal(zone - 1, kNotMeasured);
    EXPECT_NEAR(normal.hold_amps, garden.usual(zone), 0.003) << zone;
    EXPECT_LT(normal.hold_low, normal.hold_amps);
    EXPECT_GT(normal.hold_high, normal.hold_amps);
    EXPECT_LT(normal.hold_high - normal.hold_low, 0.2 * normal.hold_amps);
    EXPECT_FALSE(normal.provisional);
    EXPECT_EQ(normal.runs, 10U);
  }
}

// Without any volts channel: what all outputs share today is taken off by the neighbours.
TEST(DrawModel, NeighboursTakeOffTodaysSupply) {
  Garden garden;
  DrawModel model(garden.site);
  std::normal_distribution<double> mains(0, 0.015);
  std::vector<double> today;
  for (int day = 0; day < 20; ++day) today.push_back(1 + mains(garden.random));
  learn_days(garden, model, 20, [&](int day, int) { return today[static_cast<std::size_t>(day)]; });
  for (int zone = 1; zone <= 3; ++zone) model.learn(model.sample(garden.run(zone, 0.96)), 1);
  EXPECT_LT(std::abs(surprise(model, garden.run(4, 0.96))), 3);
  EXPECT_LT(surprise(model, garden.run(5, 0.92)), -4);
}

// With volts the work is done in admittance: an eighth off the supply says nothing of the coil.
TEST(DrawModel, VoltsAreDividedOut) {
  Garden garden;
  DrawModel model(garden.site);
  for (int day = 0; day < 12; ++day, garden.next_day())
    for (int zone = 1; zone <= 6; ++zone) model.learn(model.sample(garden.run(zone, 1, 27)), 1);
  EXPECT_LT(std::abs(surprise(model, garden.run(2, 0.875, 27 * 0.875))), 3);
  EXPECT_LT(surprise(model, garden.run(2, 0.96, 27)), -4);
}

// A season: everything falls by 3 % over ten weeks. That is no surprise on any day.
TEST(DrawModel, SeasonIsFollowed) {
  Garden garden;
  DrawModel model(garden.site);
  double worst = 0;
  for (int day = 0; day < 70; ++day, garden.next_day())
    for (int zone = 1; zone <= 6; ++zone) {
      const auto run = garden.run(zone, 1 - 0.03 * day / 70);
      if (day > 10) worst = std::max(worst, std::abs(surprise(model, run)));
      model.learn(model.sample(run), 1);
    }
  EXPECT_LT(worst, 4.5);
}

// One output loses a fifth of a per cent a day for three weeks, and every run is taken for sound: most of it
// must still be there to see.
TEST(DrawModel, SlowFaultDoesNotBecomeNormal) {
  Garden garden;
  DrawModel model(garden.site);
  learn_days(garden, model, 15, [](int, int) { return 1.0; });
  learn_days(garden, model, 20, [](int day, int zone) { return zone == 4 ? 1 - 0.002 * day : 1.0; });
  for (int zone = 1; zone <= 3; ++zone) model.learn(model.sample(garden.run(zone, 1)), 1);
  const auto run = garden.run(4, 1 - 0.002 * 20);
  const DrawSample sample = model.sample(run);
  EXPECT_LT(std::log(sample.hold_amps / model.forecast(sample).hold.amps), -0.8 * 0.04);
  EXPECT_LT(surprise(model, run), -4);
}

// The third output's level is another one in every run; its neighbours' are not, and stay as sharp.
TEST(DrawModel, OutputThatWaversIsKnownToWaver) {
  Garden garden, calm_garden;
  DrawModel model(garden.site), calm(calm_garden.site);
  std::mt19937 random{11};
  std::normal_distribution<double> wavers(0, 0.03);
  learn_days(garden, model, 60, [&](int, int zone) { return zone == 3 ? 1 + wavers(random) : 1.0; });
  learn_days(calm_garden, calm, 60, [](int, int) { return 1.0; });
  const auto sd = [](const Garden& of, const DrawModel& by, int zone) {
    Garden garden = of;
    return by.forecast(by.sample(garden.run(zone, 1))).hold.sd;
  };
  EXPECT_GT(sd(garden, model, 3), 0.012);
  EXPECT_LT(sd(garden, model, 3), 0.045);
  for (int zone : {1, 2, 4, 5, 6})
    EXPECT_LT(sd(garden, model, zone), 1.5 * sd(calm_garden, calm, zone)) << zone;
}

TEST(DrawModel, ForgottenOutputIsLearnedAnew) {
  Garden garden;
  DrawModel model(garden.site);
  learn_days(garden, model, 12, [](int, int) { return 1.0; });
  model.forget(2);
  EXPECT_TRUE(model.provisional(2));
  EXPECT_FALSE(model.provisional(3));
  EXPECT_LT(std::abs(surprise(model, garden.run(3, 1.2))), 2);
  EXPECT_GT(surprise(model, garden.run(4, 1.2)), 4);
}

TEST(DrawModel, GoesOnFromWhatItSaved) {
  Garden garden;
  DrawModel model(garden.site), other(garden.site);
  learn_days(garden, model, 9, [](int, int) { return 1.0; });
  ASSERT_TRUE(other.restore(model.save()));
  const auto run = garden.run(2, 0.97);
  EXPECT_NEAR(surprise(other, run), surprise(model, run), 1e-4);
}

}  // namespace
}  // namespace coilward
