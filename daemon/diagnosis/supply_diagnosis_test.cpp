// A supply that is low or lost is told from faults of every zone at once.
#include <gtest/gtest.h>

#include <set>

#include "daemon/diagnosis/learned_site.h"

namespace coilward {
namespace {

TEST(SupplyDiagnosis, LostSupplyIsNotEightBrokenWires) {
  for (bool volts : {true, false}) {
    FakeSite site(8);
    site.supply_channel = volts;
    FindingLog log(site.config);
    learn(site, log);
    site.supply_factor = 0;
    site.water(log.runs);
    const Finding& f = only_open(log);
    if (volts) {
      EXPECT_EQ(f.fault, Fault::supply_lost) << shown(log);
    }
    // Without a volts channel a common broken at the controller looks the same.
    EXPECT_TRUE(f.fault == Fault::supply_lost || f.fault == Fault::failed_common) << shown(log);
    EXPECT_EQ(f.zones.size(), 8U);
  }
}

TEST(SupplyDiagnosis, LowSupply) {
  for (bool volts : {true, false}) {
    FakeSite site(6);
    site.supply_channel = volts;
    FindingLog log(site.config);
    learn(site, log);
    site.supply_factor = 0.8;
    site.water(log.runs);
    EXPECT_EQ(only_open(log).fault, Fault::supply_low) << shown(log);
  }
}

TEST(SupplyDiagnosis, LowSupplyFromTheFirstDayIsNotTheUsualOne) {
  FakeSite site(3);
  site.supply_channel = true;
  site.volts = 24;
  site.supply_factor = 0.87;
  FindingLog log(site.config);
  for (int day = 0; day < 6; ++day) site.water(log.runs);
  EXPECT_EQ(only_open(log).fault, Fault::supply_low) << shown(log);
}

TEST(SupplyDiagnosis, LowSupplyIsNotABrownOutEveryDay) {
  FakeSite site(3);
  site.supply_channel = true;
  FindingLog log(site.config);
  learn(site, log);
  site.supply_factor = 0.84;
  for (int day = 0; day < 8; ++day) site.water(log.runs);
  EXPECT_EQ(only_open(log).fault, Fault::supply_low) << shown(log);
}

TEST(SupplyDiagnosis, LowSupplyThatSeemedToEndIsOneFinding) {
  FakeSite site(8);
  site.zones[7].open_ohms = 0.7 * site.zones[7].seated_ohms;
  FindingLog log(site.config);
  learn(site, log);
  site.supply_factor = 0.75;
  site.zones[7].plunger_out = true;
  std::set<std::string> days;
  for (int day = 0; day < 5; ++day) {
    site.water(log.runs);
    for (const Finding& f : log.told)
      if (f.fault == Fault::supply_low) days.insert(f.id);
  }
  EXPECT_LE(days.size(), 2u) << shown(log);
}

TEST(SupplyDiagnosis, LowSupplyIsNotAllCoilsReplaced) {
  FakeSite site(4);
  site.burst = true;
  FindingLog log(site.config);
  learn(site, log);
  site.supply_factor = 0.65;
  for (int day = 0; day < 3; ++day) site.water(log.runs);
  EXPECT_EQ(only_open(log).fault, Fault::supply_low) << shown(log);
  EXPECT_EQ(only_open(log).zones, (std::vector<int>{1, 2, 3, 4}));
}

TEST(SupplyDiagnosis, PlungersThatWantVoltsTeachNothing) {
  FakeSite site(6);
  site.supply_channel = true;
  FindingLog log(site.config);
  learn(site, log);
  const double usual = log.diagnosis.normal(3, 27).hold_amps;
  site.supply_factor = 0.65;
  for (int day = 0; day < 24; ++day) {
    site.zones[2].plunger_out = day % 6 == 2 || day % 6 == 3;
    site.water(log.runs);
  }
  EXPECT_EQ(only_open(log).fault, Fault::supply_low);
  EXPECT_NEAR(log.diagnosis.normal(3, 27).hold_amps, usual, 0.02 * usual);
}

}  // namespace
}  // namespace coilward
