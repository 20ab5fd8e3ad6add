#include "daemon/runs/run_tracker.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/runs/hand_site.h"

namespace coilward {
namespace {

TEST(RunTracker, CommandMakesARunWithOrWithoutCurrent) {
  HandSite site;
  site.carry(1, 0.000, 10);
  const UtcTime on = site.now;
  site.command(1, true);
  site.carry(1, 0.000, 60);
  site.command(1, false);
  ASSERT_TRUE(site.finished());
  EXPECT_TRUE(site.finished()->commanded);
  EXPECT_EQ(site.finished()->start, on);
  EXPECT_EQ(site.finished()->end, site.now);
  EXPECT_EQ(site.finished()->ended, RunEnd::switched_off);
  EXPECT_NEAR(site.finished()->hold_amps, 0.001, 0.001);
}

TEST(RunTracker, DeadOutputIsShownTwoReadingsAfterTheSwitchOn) {
  HandSite site;
  site.carry(1, 0.000, 10);
  const UtcTime on = site.now;
  site.command(1, true);
  site.carry(1, 0.000, 5);
  ASSERT_FALSE(site.looks.empty());
  EXPECT_EQ(site.looks[0].second, Look::early);
  EXPECT_LE(seconds_between(on, site.looks[0].first.end), 3.0);
}

TEST(RunTracker, WithoutCommandARunIsWhatStandsAboveIdle) {
  HandSite site;
  site.carry(1, 0.000, 20);
  const UtcTime on = site.now;
  site.carry(1, 0.240, 300);
  const UtcTime off = site.now;
  site.carry(1, 0.000, 20);
  ASSERT_TRUE(site.finished());
  EXPECT_FALSE(site.finished()->has_command);
  EXPECT_NEAR(seconds_between(on, site.finished()->start), 1, 0.1);
  EXPECT_NEAR(seconds_between(off, site.finished()->end), 1, 0.1);
  EXPECT_NEAR(site.finished()->hold_amps, 0.241, 0.0006);
}

// A splice that opens for a second is one run with a dip, not two.
TEST(RunTracker, FlickerDoesNotSplitARun) {
  HandSite site;
  site.carry(1, 0.000, 20);
  for (int i = 0; i < 3; ++i) {
    site.carry(1, 0.240, 20);
    site.carry(1, 0.000, 2);
  }
  site.carry(1, 0.240, 20);
  site.carry(1, 0.000, 20);
  ASSERT_TRUE(site.finished());
  EXPECT_FALSE(site.finished(1));
  EXPECT_EQ(site.finished()->dips, 3U);
}

TEST(RunTracker, CurrentThatEndsBeforeTheCommandIsACutOut) {
  HandSite site;
  site.carry(1, 0.000, 10);
  site.command(1, true);
  site.carry(1, 1.900, 4);
  const UtcTime cut = site.now;
  site.carry(1, 0.000, 60);
  site.command(1, false);
  ASSERT_TRUE(site.finished());
  EXPECT_EQ(site.finished()->ended, RunEnd::cut_out);
  EXPECT_NEAR(seconds_between(cut, site.finished()->end), 1, 0.1);
  EXPECT_NEAR(site.finished()->highest_amps, 1.902, 0.002);
  EXPECT_TRUE(std::any_of(site.looks.begin(), site.looks.end(),
                          [](const auto& look) { return look.second == Look::cut_out; }));
}

TEST(RunTracker, SilenceUnderACommandIsShownAndIsNoCurrent) {
  HandSite site(2);
  site.carry(1, 0.000, 10);
  site.command(1, true);
  site.carry(2, 0.000, 100);
  site.command(1, false);
  ASSERT_TRUE(site.finished());
  EXPECT_EQ(site.finished()->readings, 0U);
  EXPECT_EQ(site.finished()->ended, RunEnd::silent);
  EXPECT_FALSE(measured(site.finished()->hold_amps));
}

TEST(RunTracker, SwitchOnIsKeptWhereReadingsAreCloseTogether) {
  HandSite site;
  site.carry(1, 0.000, 10);
  site.command(1, true);
  const UtcTime on = site.now;
  for (int ms = 10; ms <= 500; ms += 10) {
    site.now = on + Millis{ms};
    site.amps(1, ms < 60 ? 0.420 : 0.240);
  }
  site.carry(1, 0.240, 60);
  site.command(1, false);
  ASSERT_TRUE(site.finished());
  EXPECT_NEAR(site.finished()->inrush_amps, 0.420, 0.001);
  EXPECT_NEAR(site.finished()->seat_ms, 60, 10);
  EXPECT_NEAR(site.finished()->hold_amps, 0.241, 0.001);
  EXPECT_GT(site.finished()->burst.size(), 40U);
}

// Without a command the first reading heard begins the run, until an earlier one comes.
TEST(RunTracker, PackThatComesAfterALaterReadingBeginsTheRun) {
  HandSite site;
  site.carry(1, 0.000, 20);
  const UtcTime on = site.now + Millis{1000};
  site.now = on + Millis{700};
  site.amps(1, 0.240);
  for (int ms = 0; ms <= 400; ms += 10)
    site.tracker->reading({{ChannelKind::zone_current, 1}, on + Millis{ms}, ms < 60 ? 0.420 : 0.240, false});
  site.carry(1, 0.240, 60);
  site.carry(1, 0.000, 20);
  ASSERT_TRUE(site.finished());
  EXPECT_EQ(site.finished()->start, on);
  EXPECT_NEAR(site.finished()->inrush_amps, 0.420, 0.001);
}

TEST(RunTracker, OneReadingASecondShowsNoInrush) {
  HandSite site;
  site.carry(1, 0.000, 10);
  site.command(1, true);
  site.carry(1, 0.240, 60);
  site.command(1, false);
  EXPECT_FALSE(measured(site.finished()->inrush_amps));
}

TEST(RunTracker, AnotherZoneOnForMostOfItIsSaid) {
  HandSite site(3);
  for (int zone = 1; zone <= 3; ++zone) site.carry(zone, 0.000, 5);
  site.command(1, true);
  site.command(2, true);
  for (int i = 0; i < 60; ++i) {
    site.now += Millis{1000};
    site.amps(1, 0.230);
    site.amps(2, 0.231);
  }
  site.command(2, false);
  site.command(1, false);
  ASSERT_TRUE(site.finished(1));
  EXPECT_EQ(site.finished(0)->shared_with, std::vector<int>{1});
  EXPECT_EQ(site.finished(1)->shared_with, std::vector<int>{2});
}

// "On" of a moment before, heard just after "off": no run, unless current flows.
TEST(RunTracker, OvertakenCommandBeginsNoRun) {
  HandSite site;
  site.command(1, true);
  site.carry(1, 0.240, 300);
  site.command(1, false);
  site.now += Millis{40};
  site.command(1, true);
  site.carry(1, 0.000, 200);
  site.command(1, false);
  EXPECT_FALSE(site.finished(1));
  site.now += std::chrono::minutes(10);
  site.command(1, true);
  site.carry(1, 0.240, 60);
  site.command(1, false);
  site.now += Millis{40};
  site.command(1, true);
  site.carry(1, 0.240, 60);
  site.command(1, false);
  ASSERT_TRUE(site.finished(2));
  EXPECT_NEAR(site.finished(2)->hold_amps, 0.241, 0.001);
}

// "Off" of a moment before, heard just after "on": the run goes on, unless no current flows.
TEST(RunTracker, OvertakenCommandEndsNoRun) {
  HandSite site;
  site.command(1, true);
  site.now += Millis{40};
  site.command(1, false);
  site.carry(1, 0.240, 300);
  site.command(1, false);
  ASSERT_TRUE(site.finished(0));
  EXPECT_FALSE(site.finished(1));
  EXPECT_GT(seconds_between(site.finished(0)->start, site.finished(0)->end), 299);
  site.now += std::chrono::minutes(10);
  site.command(1, true);
  site.now += Millis{40};
  site.command(1, false);
  site.carry(1, 0.000, 60);
  ASSERT_TRUE(site.finished(1));
  EXPECT_LT(seconds_between(site.finished(1)->start, site.finished(1)->end), 1);
}

// One that carries the time at which it was given is put in its place by it.
TEST(RunTracker, CommandOlderThanTheLatestIsLateNews) {
  HandSite site;
  site.command(1, true);
  site.now -= Millis{5};
  site.command(1, false);
  site.now += Millis{5};
  site.carry(1, 0.240, 300);
  EXPECT_FALSE(site.finished(0));
  site.command(1, false);
  ASSERT_TRUE(site.finished(0));
  EXPECT_NEAR(site.finished(0)->hold_amps, 0.241, 0.001);
}

TEST(RunTracker, LostSwitchOffDoesNotSwallowTheNextRun) {
  HandSite site;
  site.command(1, true);
  site.carry(1, 0.240, 300);
  site.carry(1, 0.000, 3000);
  const UtcTime on = site.now;
  site.command(1, true);
  site.carry(1, 0.240, 300);
  site.command(1, false);
  ASSERT_TRUE(site.finished(1));
  EXPECT_EQ(site.finished(0)->ended, RunEnd::switched_off);
  EXPECT_EQ(site.finished(1)->start, on);
}

TEST(RunTracker, GoesOnWithinARunFromWhatItSaved) {
  HandSite site, other;
  site.carry(1, 0.000, 10);
  site.command(1, true);
  site.carry(1, 0.240, 30);
  other.tracker->restore(site.tracker->save());
  other.now = site.now;
  for (auto* s : {&site, &other}) {
    s->carry(1, 0.240, 30);
    s->command(1, false);
  }
  ASSERT_TRUE(other.finished());
  EXPECT_EQ(other.finished()->start, site.finished()->start);
  EXPECT_EQ(other.finished()->readings, site.finished()->readings);
  EXPECT_EQ(other.finished()->hold_amps, site.finished()->hold_amps);
}

}  // namespace
}  // namespace coilward
