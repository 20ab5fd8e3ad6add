// Every fault of the contract shows what physics makes of it, and nothing before its onset.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/simulate/day.h"
#include "daemon/simulate/test_site.h"

namespace coilward::simulate {
namespace {

// Days 0 and 1 are before each fault, days 2 and 3 after.
double change(const SeenChannels& seen, int zone) { return seen.current(zone, 2) / seen.current(zone, 1); }

void expect_unchanged(const SeenChannels& seen, std::initializer_list<int> zones) {
  for (const int zone : zones) EXPECT_NEAR(change(seen, zone), 1, 0.01) << "zone " << zone;
}

TEST(FaultSigns, OpenCircuitIsOneDeadZone) {
  const SeenChannels seen(test_scenario({"open_circuit:zone=3,day=2"}));
  EXPECT_GT(seen.current(3, 1), 0.15);
  EXPECT_EQ(seen.current(3, 2), 0);
  EXPECT_TRUE(seen.ran(3, 2));
  expect_unchanged(seen, {1, 2, 4, 5, 6});
}

TEST(FaultSigns, FailedCommonKillsWhatLiesBeyond) {
  const SeenChannels seen(test_scenario({"failed_common:segment=B,day=2"}));
  expect_unchanged(seen, {1, 2});
  for (const int zone : {3, 4, 5, 6}) EXPECT_EQ(seen.current(zone, 2), 0) << zone;
  EXPECT_EQ(seen.truth()["faults"][0]["zones"], Json({3, 4, 5, 6}));
  EXPECT_EQ(seen.truth()["faults"][0]["segment"], (Json{{"common", "main"}, {"from", "A"}, {"to", "B"}}));
}

TEST(FaultSigns, FullShortIsLimitedByTheWire) {
  const SeenChannels seen(test_scenario({"shorted_coil:zone=2,day=2,ohms=0.2,trip=none"}));
  EXPECT_GT(change(seen, 2), 8);
  EXPECT_LT(seen.mean("supply/voltage", 2, 2), 0.85 * seen.mean("supply/voltage", 2, 1));
  expect_unchanged(seen, {1, 3, 4, 5, 6});
}

TEST(FaultSigns, FullShortIsEndedByTheCutOut) {
  const SeenChannels seen(test_scenario({"shorted_coil:zone=2,day=2,ohms=0.2"}));
  EXPECT_EQ(seen.current(2, 2), 0);  // from 5 s on
  double highest = 0;
  for (const Seen& reading : seen.of("zone/2/current"))
    if (reading.time > 2 * kDay) highest = std::max(highest, reading.value);
  EXPECT_GT(highest, 1.5);
  expect_unchanged(seen, {1, 3});
}

TEST(FaultSigns, ABlownFuseLeavesNothing) {
  const SeenChannels seen(test_scenario({"shorted_coil:zone=2,day=2,ohms=0.2,trip=fuse"}));
  expect_unchanged(seen, {1});
  EXPECT_EQ(seen.current(3, 2), 0);
  EXPECT_EQ(seen.mean("supply/voltage", 4, 2), 0);
}

TEST(FaultSigns, LostTurnsDrawMore) {
  const SeenChannels seen(test_scenario({"shorted_coil:zone=2,day=2,turns=0.8,amount=0"}));
  EXPECT_GT(change(seen, 2), 1.25);
  EXPECT_LT(change(seen, 2), 1.6);
  const SeenChannels ring(test_scenario({"shorted_coil:zone=2,day=2,turns=0.8,amount=1"}));
  EXPECT_GT(change(ring, 2), 1.2);  // the shorted turns' own current is a load in phase with the copper's
  EXPECT_LT(change(ring, 2), change(seen, 2));
  expect_unchanged(seen, {1, 3});
}

TEST(FaultSigns, ABadSpliceFallsAndGoesOnFalling) {
  const SeenChannels seen(test_scenario({"high_resistance:zone=4,day=2,ohms=8,per_day=8"}));
  EXPECT_LT(change(seen, 4), 0.985);
  EXPECT_LT(seen.current(4, 3), seen.current(4, 2));
  EXPECT_GT(seen.current(4, 3), 0.1);
  expect_unchanged(seen, {1, 2, 3, 5, 6});
}

TEST(FaultSigns, ABadCommonTakesFromAllBeyond) {
  const SeenChannels seen(test_scenario({"common_high_resistance:segment=C,day=2,ohms=12"}));
  expect_unchanged(seen, {1, 2, 3, 4});
  EXPECT_LT(change(seen, 5), 0.97);
  EXPECT_LT(change(seen, 6), change(seen, 5));  // two coils' current passes it
}

TEST(FaultSigns, ALostValveIsHalfOfTwo) {
  const SeenChannels seen(test_scenario({"partial_open:zone=6,day=2"}));
  EXPECT_NEAR(change(seen, 6), 0.51, 0.03);
  expect_unchanged(seen, {1, 5});
}

TEST(FaultSigns, CrossedWiresDrawTheSum) {
  const SeenChannels seen(test_scenario({"crossed_wires:zone=1,other=5,day=2"}));
  const double sum = seen.current(1, 1) + seen.current(5, 1);
  EXPECT_NEAR(seen.current(1, 2) / sum, 0.98, 0.02);
  EXPECT_NEAR(seen.current(5, 2) / sum, 0.98, 0.03);
  expect_unchanged(seen, {2, 3, 4, 6});
}

TEST(FaultSigns, AnUnseatedPlungerStaysAtInrush) {
  const SeenChannels seen(test_scenario({"plunger_not_seated:zone=3,day=2"}));
  EXPECT_GT(change(seen, 3), 1.3);
  EXPECT_LT(change(seen, 3), 2.0);
  expect_unchanged(seen, {2, 4});
}

TEST(FaultSigns, EarthLeakageDoesNotComeBack) {
  const SeenChannels seen(test_scenario({"earth_leakage:zone=3,day=2,ohms=120"}));
  EXPECT_GT(change(seen, 3), 1.2);
  EXPECT_NEAR(seen.mean("common/main/current", 3, 1) / seen.current(3, 1), 1, 0.002);
  EXPECT_LT(seen.mean("common/main/current", 3, 2) / seen.current(3, 2), 0.85);
}

TEST(FaultSigns, AWeakSupplyTakesFromAllAlike) {
  const SeenChannels seen(test_scenario({"supply_low:day=2,volts=21"}));
  for (int zone = 1; zone <= 6; ++zone) EXPECT_NEAR(change(seen, zone), change(seen, 1), 0.01) << zone;
  EXPECT_LT(change(seen, 1), 0.9);
  EXPECT_LT(seen.mean("supply/voltage", 1, 2), 21.5);
}

TEST(FaultSigns, ADeadSupplyIsNothingAnywhere) {
  const SeenChannels seen(test_scenario({"supply_lost:day=2,until_day=3"}));
  for (int zone = 1; zone <= 6; ++zone) EXPECT_EQ(seen.current(zone, 2), 0);
  EXPECT_EQ(seen.mean("supply/voltage", 2, 2), 0);
  EXPECT_NEAR(seen.current(2, 3) / seen.current(2, 1), 1, 0.01);  // mended
}

TEST(FaultSigns, StuckOnDrawsWithoutACommand) {
  const SeenChannels seen(test_scenario({"stuck_on:zone=2,day=2,until_day=2.5"}));
  const double usual = seen.current(2, 1);
  std::size_t drawing = 0;
  for (const Seen& reading : seen.of("zone/2/current"))
    if (reading.time > 2.1 * kDay && reading.time < 2.49 * kDay) drawing += reading.value > 0.8 * usual;
  EXPECT_GT(drawing, 400u);
  EXPECT_EQ(seen.of("zone/2/current").back().value, 0);
}

TEST(FaultSigns, AMissedRunIsNotCommanded) {
  const SeenChannels seen(test_scenario({"missed_run:zone=2,day=2"}));
  EXPECT_TRUE(seen.ran(2, 1));
  EXPECT_FALSE(seen.ran(2, 2));
  EXPECT_TRUE(seen.ran(3, 2));
  EXPECT_EQ(seen.truth()["faults"][0]["affected_runs"].size(), 2u);
}

TEST(FaultSigns, SensorTroubles) {
  const SeenChannels silent(test_scenario({"sensor_fault:zone=2,day=2,kind=silent"}));
  EXPECT_EQ(silent.count("zone/2/current", 2 * kDay, 4 * kDay), 0u);
  EXPECT_GT(silent.count("zone/3/current", 2 * kDay, 4 * kDay), 1000u);
  const SeenChannels frozen(test_scenario({"sensor_fault:zone=2,day=2,kind=frozen"}));
  EXPECT_EQ(frozen.current(2, 2), frozen.of("zone/2/current").back().value);
  const SeenChannels wild(test_scenario({"sensor_fault:zone=2,day=2,kind=out_of_range"}));
  EXPECT_NEAR(wild.current(2, 2), 65.535, 1e-3);
  const SeenChannels gain(test_scenario({"sensor_fault:zone=2,day=2,kind=gain,gain=1.3"}));
  EXPECT_NEAR(change(gain, 2), 1.3, 0.01);
  const SeenChannels zero(test_scenario({"sensor_fault:zone=2,day=2,kind=zero,amps=0.05"}));
  EXPECT_NEAR(zero.current(2, 2) - zero.current(2, 1), 0.05, 0.003);
  EXPECT_NEAR(zero.of("zone/2/current").back().value, 0.05, 0.001);
}

TEST(FaultSigns, AnIntermittentFaultComesAndGoes) {
  const SeenChannels seen(test_scenario({"open_circuit:zone=3,day=0,intermittent=0.5,period=3600"}, 24));
  int dead = 0;
  for (int day = 0; day < 24; ++day) dead += seen.current(3, day) == 0;
  EXPECT_GT(dead, 4);
  EXPECT_LT(dead, 20);
}

TEST(FaultSigns, TruthSaysWhenAndWhichRuns) {
  const SeenChannels seen(test_scenario({"open_circuit:zone=3,day=2,until_day=3"}));
  const Json& fault = seen.truth()["faults"][0];
  EXPECT_EQ(fault["fault"], "open_circuit");
  EXPECT_EQ(fault["zones"], Json({3}));
  EXPECT_EQ(fault["onset"], "2026-05-06T00:00:00.000Z");
  EXPECT_EQ(fault["until"], "2026-05-07T00:00:00.000Z");
  ASSERT_EQ(fault["affected_runs"].size(), 1u);
  EXPECT_EQ(fault["affected_runs"][0]["start"], "2026-05-06T01:02:10.000Z");
  EXPECT_EQ(seen.truth()["runs"], 24);
}

}  // namespace
}  // namespace coilward::simulate
