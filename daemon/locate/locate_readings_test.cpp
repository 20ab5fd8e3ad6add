// What test readings make of a finding's places, also when they do not fit.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/locate/locate.h"
#include "daemon/locate/locate_site.h"

namespace coilward {
namespace {

class LocateReadings : public LocateTest {};

TEST_F(LocateReadings, ThreeReadingsFindTheBreak) {
  std::vector<TestReading> readings = {volts_reading(3, "B", 0.2), volts_reading(3, "A", 26.3)};
  EXPECT_FALSE(find(broken, readings).solved);
  readings.push_back(ohms_reading(3, "A", kOpenOhms));
  const Location found = find(broken, readings);
  EXPECT_TRUE(found.solved);
  EXPECT_FALSE(found.next);
  EXPECT_EQ(found.places[0].from, "A");
  EXPECT_EQ(found.places[0].to, "B");
  EXPECT_EQ(found.places[0].conductor, Conductor::zone);
}

// 35 volts at the far end of a good wire, 0.3 or less of a broken one, 20 doubtful (common practice).
TEST_F(LocateReadings, ATestSourceProvesEachConductorByItself) {
  const Finding last = finding_of(Fault::open_circuit, {4});
  const auto share = [](const Location& l, Conductor c) { return chance_of(l, PlaceKind::segment, "D", c); };
  const std::vector<TestReading> between = {volts_reading(4, "C", 26), volts_reading(4, "D", 0.1)};
  const auto with = [&](double volts, Conductor c) {
    auto readings = between;
    readings.push_back(source_reading(4, "D", volts, c));
    return find(last, readings);
  };
  const double before = share(find(last, between), Conductor::zone);
  EXPECT_GT(share(with(0.2, Conductor::zone), Conductor::zone), 0.7);
  EXPECT_LT(share(with(35, Conductor::zone), Conductor::zone), 0.05);
  EXPECT_GT(share(with(35, Conductor::zone), Conductor::common),
            2 * share(find(last, between), Conductor::common));
  EXPECT_GT(share(with(0.2, Conductor::common), Conductor::common), 0.7);
  EXPECT_NEAR(share(with(20, Conductor::zone), Conductor::zone), before, 0.1);
}

TEST_F(LocateReadings, AReadingThatNoPlaceExplainsIsSaid) {
  const Location found = find(broken, {volts_reading(3, "B", 12)});
  EXPECT_FALSE(found.explained[0]);
  EXPECT_THAT(found.odd, testing::HasSubstr("No place explains this reading: 12 V with zone 3 on at B"));
  EXPECT_FALSE(found.solved);
  // The places stay about as they were.
  EXPECT_NEAR(found.places[0].probability, find(broken).places[0].probability, 0.05);
  ASSERT_TRUE(found.next);
}

TEST_F(LocateReadings, ReadingsThatDoNotGoTogetherAreSaid) {
  const Location found = find(broken, {volts_reading(3, "A", 0.1), volts_reading(3, "C", 26)});
  EXPECT_TRUE(found.explained[0]);
  EXPECT_TRUE(found.explained[1]);
  EXPECT_THAT(found.odd, testing::HasSubstr("No place explains all readings together"));
  EXPECT_FALSE(found.solved);
  // A third one outvotes the wrong one.
  const Location third =
      find(broken, {volts_reading(3, "A", 0.1), volts_reading(3, "C", 26), volts_reading(3, "A", 26)});
  EXPECT_GT(chance_of(third, PlaceKind::coil, "") + chance_of(third, PlaceKind::splice, "C"), 0.8);
}

TEST_F(LocateReadings, ReadingsOfAnotherZoneOrPlaceSayNothing) {
  const Location plain = find(broken),
                 with = find(broken, {volts_reading(4, "A", 0), volts_reading(3, "D", 0)});
  EXPECT_NEAR(with.places[0].probability, plain.places[0].probability, 1e-9);
  EXPECT_TRUE(with.odd.empty());
}

// Supplies differ, and so do meters: what is live, what is dead and what is neither.
TEST_F(LocateReadings, WhatAHealthyCircuitShowsIsExplained) {
  for (double volts : {22.0, 24.0, 26.4, 28.0})
    EXPECT_TRUE(find(broken, {volts_reading(3, "B", volts)}).odd.empty()) << volts;
  for (double volts : {0.0, 0.8, 2.0}) EXPECT_TRUE(find(broken, {volts_reading(3, "B", volts)}).odd.empty());
  for (double volts : {6.0, 12.0, 18.0, 33.0, 50.0})
    EXPECT_FALSE(find(broken, {volts_reading(3, "B", volts)}).odd.empty()) << volts;
  for (double ohms : {20.0, 33.0, 60.0, 50000.0, kOpenOhms})
    EXPECT_TRUE(find(broken, {ohms_reading(3, "B", ohms)}).odd.empty()) << ohms;
  for (double ohms : {2.0, 400.0})
    EXPECT_FALSE(find(broken, {ohms_reading(3, "B", ohms)}).odd.empty()) << ohms;
  for (double volts : {0.0, 0.3, 32.0, 35.0, 38.0})
    EXPECT_TRUE(find(broken, {source_reading(3, "B", volts, Conductor::zone)}).odd.empty()) << volts;
  EXPECT_THAT(find(broken, {source_reading(3, "B", 20, Conductor::zone)}).odd,
              testing::HasSubstr("doubtful"));
}

// The diagnosis was not sure whether it is the common.
TEST_F(LocateReadings, AnAlternativeOfTheFindingKeepsItsShare) {
  Finding f = broken;
  f.probability = 0.6;
  f.alternatives = {{Fault::failed_common, 0.3}};
  const Location found = find(f);
  double common = 0;
  for (const Place& p : found.places)
    if (p.conductor == Conductor::common) common += p.probability;
  EXPECT_NEAR(common, 1.0 / 3, 0.02);
}

TEST_F(LocateReadings, AZoneWithABoxIsMeasuredFirst) {
  config.zones[2].box = -1;
  EXPECT_EQ(zone_to_measure(config, finding_of(Fault::failed_common, {3, 4})), 4);
  EXPECT_EQ(zone_to_measure(config, finding_of(Fault::open_circuit, {3})), 3);
  EXPECT_EQ(zone_to_measure(config, finding_of(Fault::supply_low, {})), -1);
  EXPECT_EQ(zone_to_measure(config, finding_of(Fault::open_circuit, {kMasterZone})), kMasterZone);
}

}  // namespace
}  // namespace coilward
