// Two outputs that are on together: what one draws shows in the other.
#include <gtest/gtest.h>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

constexpr double kSourceOhms = 24;  // a small transformer at the end of a long lead

struct Pair : testing::Test {
  FakeSite site{4};
  FindingLog log{(site.config.supply.source_ohms = kSourceOhms, site.config)};

  // Both on for a minute and a half, a reading a second.
  void run_together(double first, double second) {
    for (std::uint8_t zone : {1, 2})
      log.runs.reading({{ChannelKind::zone_command, zone}, site.now, 1, false});
    for (int s = 1; s <= 90; ++s) {
      site.now += Millis{1000};
      log.runs.advance(site.now);
      log.runs.reading({{ChannelKind::zone_current, 1}, site.now, first + (s % 3) * 0.001, false});
      log.runs.reading({{ChannelKind::zone_current, 2}, site.now, second + (s % 3) * 0.001, false});
    }
    for (std::uint8_t zone : {1, 2})
      log.runs.reading({{ChannelKind::zone_command, zone}, site.now, 0, false});
    site.now += std::chrono::hours(2);
  }

  // On one source, by hand.
  void run_as_wired(bool second_is_dead) {
    const auto first = site.admittance(site.zones[0], true);
    const auto second = second_is_dead ? 0.0 : site.admittance(site.zones[1], true);
    const auto volts = site.volts / (1.0 + kSourceOhms * (first + second));
    run_together(std::abs(volts * first), std::abs(volts * second));
    site.water(log.runs, 90, {0, 1});
  }
};

// A transformer that sags under a short, and a sensor beside the heavy current, show in whatever else is on.
TEST_F(Pair, WhatRunsBesideAShortIsNotJudged) {
  for (int day = 0; day < 8; ++day) site.water(log.runs);
  const double usual = log.diagnosis.normal(1, kNotMeasured).hold_amps;
  for (int day = 0; day < 4; ++day) run_together(4.5, 1.35 * usual);
  ASSERT_EQ(log.diagnosis.open_findings().size(), 1U);
  EXPECT_EQ(log.diagnosis.open_findings()[0].fault, Fault::shorted_coil);
  EXPECT_EQ(log.diagnosis.open_findings()[0].zones, std::vector<int>{1});
}

// The source sags by less when the other coil is gone: the first one's rise is none of its own.
TEST_F(Pair, WhatRunsBesideADeadZoneRises) {
  for (int day = 0; day < 12; ++day) run_as_wired(false);
  ASSERT_TRUE(log.told.empty());
  for (int day = 0; day < 12; ++day) run_as_wired(true);
  ASSERT_EQ(log.diagnosis.open_findings().size(), 1U);
  EXPECT_EQ(log.diagnosis.open_findings()[0].fault, Fault::open_circuit);
  EXPECT_EQ(log.diagnosis.open_findings()[0].zones, std::vector<int>{2});
}

}  // namespace
}  // namespace coilward
