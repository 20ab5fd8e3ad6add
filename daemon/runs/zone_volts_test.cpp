// An output without a command channel whose terminals have a voltage sensor.
#include <gtest/gtest.h>

#include "daemon/runs/hand_site.h"

namespace coilward {
namespace {

constexpr double kOnVolts = 26;

struct VoltsSite : HandSite {
  void volts(double value) { tracker->reading({{ChannelKind::zone_voltage, 1}, now, value, false}); }
  // A current reading a second, volts every five.
  void both(double amps_level, double volts_level, int seconds) {
    for (int i = 0; i < seconds; ++i) {
      if (i % 5 == 4) volts(volts_level);
      carry(1, amps_level, 1);
    }
  }
};

TEST(ZoneVolts, ADeadZoneIsSeenWhileItIsOn) {
  VoltsSite site;
  site.both(0.001, 0.2, 60);
  const UtcTime on = site.now;
  site.both(0.001, kOnVolts, 60);
  ASSERT_FALSE(site.looks.empty());
  EXPECT_EQ(site.looks[0].second, Look::early);
  EXPECT_LT(seconds_between(on, site.looks[0].first.start), 6);
  EXPECT_LT(site.looks[0].first.hold_amps, 0.01);
  EXPECT_TRUE(site.looks[0].first.commanded);
  EXPECT_FALSE(site.finished());
  site.both(0.001, 0.2, 10);
  ASSERT_TRUE(site.finished());
  EXPECT_NEAR(site.finished()->zone_volts, kOnVolts, 0.1);
  EXPECT_NEAR(seconds_between(site.finished()->start, site.finished()->end), 60, 6);
}

TEST(ZoneVolts, AZoneThatDrawsIsOneRun) {
  VoltsSite site;
  site.both(0.001, 0.2, 60);
  site.both(0.25, kOnVolts, 60);
  site.both(0.001, 0.2, 60);
  ASSERT_TRUE(site.finished());
  EXPECT_FALSE(site.finished(1));
  EXPECT_FALSE(site.finished()->commanded);
  EXPECT_NEAR(site.finished()->hold_amps, 0.251, 0.002);
}

// What leaks through a switch that is off, or a neighbour's wire, is not a run.
TEST(ZoneVolts, AFewVoltsAreNoRun) {
  VoltsSite site;
  site.both(0.001, 9, 300);
  EXPECT_TRUE(site.looks.empty());
}

// A sensor that looks once a second while current flows, and once a minute while none does.
TEST(ZoneVolts, ASlowSensorIsNotASilentOne) {
  VoltsSite site;
  for (int run = 0; run < 3; ++run) {
    site.both(0.25, kOnVolts, 60);
    site.both(0.001, 0.2, 60);
  }
  site.looks.clear();
  for (int minute = 0; minute < 5; ++minute) {
    for (int i = 0; i < 6; ++i) site.now += Millis{10000}, site.volts(kOnVolts);
    site.amps(1, 0.001);
  }
  site.volts(0.2);
  ASSERT_TRUE(site.finished());
  for (const auto& look : site.looks) EXPECT_NE(look.second, Look::silent);
  EXPECT_LT(site.finished()->hold_amps, 0.01);
}

TEST(ZoneVolts, WhereACommandSaysItVoltsDoNot) {
  VoltsSite site;
  site.command(1, true);
  site.both(0.25, kOnVolts, 30);
  site.command(1, false);
  site.both(0.001, kOnVolts, 60);
  EXPECT_TRUE(site.finished());
  EXPECT_FALSE(site.finished(1));
}

TEST(ZoneVolts, ASensorThatFallsSilentEndsTheRun) {
  VoltsSite site;
  site.both(0.001, kOnVolts, 60);
  ASSERT_FALSE(site.looks.empty());
  site.carry(1, 0.001, 400);
  ASSERT_TRUE(site.finished());
  EXPECT_NEAR(seconds_between(site.finished()->start, site.finished()->end), 55, 6);
}

}  // namespace
}  // namespace coilward
