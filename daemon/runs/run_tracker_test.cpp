#include "daemon/runs/run_tracker.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// One to three outputs, readings by hand.
struct Site : RunListener {
  Config config;
  std::vector<std::pair<coilward::Run, Look>> looks;
  std::vector<IdleEvent> events;
  std::unique_ptr<RunTracker> tracker;
  UtcTime now = *parse_rfc3339("2026-05-04T05:00:00Z");

  explicit Site(int zones = 1) {
    for (int i = 1; i <= zones; ++i) {
      ZoneConfig zone;
      zone.number = i;
      config.zones.push_back(zone);
    }
    config.commons.push_back({"main", {2.08, 14, false}});
    tracker = std::make_unique<RunTracker>(config, *this);
  }
  void on_look(const coilward::Run& run, Look look) override { looks.emplace_back(run, look); }
  void on_idle(const IdleEvent& event) override { events.push_back(event); }

  void command(int zone, bool on) {
    tracker->reading(
        {{ChannelKind::zone_command, static_cast<std::uint8_t>(zone)}, now, on ? 1.0 : 0.0, false});
  }
  void amps(int zone, double amps) {
    tracker->advance(now);
    tracker->reading({{ChannelKind::zone_current, static_cast<std::uint8_t>(zone)}, now, amps, false});
  }
  // One value a second; a little up and down, as sensors are.
  void carry(int zone, double level, int seconds) {
    for (int i = 0; i < seconds; ++i) {
      now += Millis{1000};
      amps(zone, level + (i % 3) * 0.001);
    }
  }
  const coilward::Run* finished(std::size_t which = 0) const {
    for (const auto& [run, look] : looks)
      if (look == Look::finished && which-- == 0) return &run;
    return nullptr;
  }
  std::size_t count(IdleKind kind) const {
    return static_cast<std::size_t>(
        std::count_if(events.begin(), events.end(), [&](const auto& e) { return e.kind == kind; }));
  }
};

TEST(RunTracker, CommandMakesARunWithOrWithoutCurrent) {
  Site site;
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
  Site site;
  site.carry(1, 0.000, 10);
  const UtcTime on = site.now;
  site.command(1, true);
  site.carry(1, 0.000, 5);
  ASSERT_FALSE(site.looks.empty());
  EXPECT_EQ(site.looks[0].second, Look::early);
  EXPECT_LE(seconds_between(on, site.looks[0].first.end), 3.0);
}

TEST(RunTracker, WithoutCommandARunIsWhatStandsAboveIdle) {
  Site site;
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
  Site site;
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
  Site site;
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
  Site site(2);
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
  Site site;
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
  Site site;
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
  Site site;
  site.carry(1, 0.000, 10);
  site.command(1, true);
  site.carry(1, 0.240, 60);
  site.command(1, false);
  EXPECT_FALSE(measured(site.finished()->inrush_amps));
}

TEST(RunTracker, AnotherZoneOnForMostOfItIsSaid) {
  Site site(3);
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

TEST(RunTracker, CurrentThatGoesOnWithTheCommandOffIsTold) {
  Site site;
  site.command(1, true);
  site.carry(1, 0.240, 30);
  site.command(1, false);
  site.carry(1, 0.240, 590);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 0U) << "the command may be wrong for some minutes";
  site.carry(1, 0.240, 20);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
  site.carry(1, 0.000, 5);
  EXPECT_EQ(site.count(IdleKind::uncommanded_over), 1U);
}

// Current that begins while off may be a run whose command got lost; one that outlasts any run is not.
TEST(RunTracker, CurrentThatBeginsWithTheCommandOffIsToldWhenItOutlastsARun) {
  Site site;
  site.command(1, true);
  site.carry(1, 0.240, 300);
  site.command(1, false);
  site.carry(1, 0.000, 30);
  site.carry(1, 0.240, 300);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 0U);
  site.carry(1, 0.240, 150);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
  site.carry(1, 0.000, 5);
  EXPECT_EQ(site.count(IdleKind::uncommanded_over), 1U);
}

TEST(RunTracker, WithoutCommandARunBeyondAllOthersIsTold) {
  Site site;
  site.carry(1, 0.000, 60);
  site.carry(1, 0.240, 600);
  site.carry(1, 0.000, 60);
  site.carry(1, 0.240, 7190);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 0U);
  site.carry(1, 0.240, 20);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
  site.carry(1, 0.000, 60);
  EXPECT_EQ(site.count(IdleKind::uncommanded_over), 1U);
}

// Digits that wavered while off, and do not any more through a switch-on: the sensor's, not the wire's.
TEST(RunTracker, SensorFrozenOnItsZeroIsTold) {
  for (const double value : {0.004, 0.000}) {
    Site site;
    site.carry(1, 0.003, 300);
    for (int i = 0; i < 30; ++i) site.amps(1, (site.now += Millis{1000}, value));
    site.command(1, true);
    for (int i = 0; i < 60; ++i) site.amps(1, (site.now += Millis{1000}, value));
    EXPECT_EQ(site.count(IdleKind::frozen), value > 0 ? 1U : 0U) << "an exact nothing may be a broken wire's";
  }
}

// "On" of a moment before, heard just after "off": no run, unless current flows.
TEST(RunTracker, OvertakenCommandBeginsNoRun) {
  Site site;
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
  Site site;
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
  Site site;
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
  Site site;
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

// One sensor gone quiet is its own; all of them are the link, said only when it lasts.
TEST(RunTracker, SilenceOfEverythingIsTheLinks) {
  Site site(2);
  for (int minute = 0; minute < 3 * 24 * 60; ++minute) {
    site.now += std::chrono::minutes{1};
    for (int zone = 1; zone <= 2; ++zone) site.amps(zone, 0.001 * (minute % 2));
  }
  const UtcTime heard = site.now;
  for (int s = 1; s < 1200; ++s) site.tracker->advance(heard + std::chrono::seconds{s});
  EXPECT_EQ(site.count(IdleKind::link_silent), 0U);
  for (int m = 20; m < 50 * 60; ++m) site.tracker->advance(heard + std::chrono::minutes{m});
  EXPECT_EQ(site.count(IdleKind::stale), 0U);
  EXPECT_EQ(site.count(IdleKind::link_silent), 1U);
  site.now = heard + std::chrono::hours{50};
  site.amps(1, 0.001);
  EXPECT_EQ(site.count(IdleKind::link_back), 1U);
  for (int minute = 0; minute < 10; ++minute) {
    site.now += std::chrono::minutes{1};
    for (int zone = 1; zone <= 2; ++zone) site.amps(zone, 0.001 * (minute % 2));
  }
  EXPECT_EQ(site.count(IdleKind::stale), 0U);
}

TEST(RunTracker, OneSensorGoneQuietIsStale) {
  Site site(2);
  for (int minute = 0; minute < 3 * 24 * 60; ++minute) {
    site.now += std::chrono::minutes{1};
    for (int zone = 1; zone <= 2; ++zone) site.amps(zone, 0.001 * (minute % 2));
  }
  for (int minute = 0; minute < 10; ++minute) {
    site.now += std::chrono::minutes{1};
    site.amps(1, 0.001 * (minute % 2));
  }
  ASSERT_EQ(site.count(IdleKind::stale), 1U);
  EXPECT_EQ(site.events.back().channel.index, 2);
}

// The first run may be older than the sensor.
TEST(RunTracker, SensorThatNeverSpokeIsToldAtTheSecondRun) {
  Site site(2);
  const auto run_first = [&] {
    site.command(1, true);
    site.carry(2, 0.001, 120);
    site.command(1, false);
    site.carry(2, 0.001, 60);
  };
  run_first();
  EXPECT_EQ(site.count(IdleKind::never_heard), 0U);
  run_first();
  ASSERT_EQ(site.count(IdleKind::never_heard), 1U);
  run_first();
  EXPECT_EQ(site.count(IdleKind::never_heard), 1U) << "once";
  site.carry(1, 0.001, 2);
  EXPECT_EQ(site.count(IdleKind::heard_again), 1U);
}

// With nothing on, and no command to say that something should be.
TEST(RunTracker, SupplyWithoutVoltsIsToldWhenItLasts) {
  Site site;
  const auto volts = [&](double value, int minutes) {
    for (int i = 0; i < 2 * minutes; ++i) {
      site.now += std::chrono::seconds(30);
      site.tracker->reading({{ChannelKind::supply_voltage, 0}, site.now, value, false});
    }
  };
  volts(27, 60);
  volts(0.1, 10);
  volts(27, 10);
  EXPECT_EQ(site.count(IdleKind::supply_lost), 0U) << "a power cut of ten minutes";
  volts(0.1, 20);
  EXPECT_EQ(site.count(IdleKind::supply_lost), 1U);
  EXPECT_EQ(site.count(IdleKind::supply_back), 0U);
  volts(27, 1);
  EXPECT_EQ(site.count(IdleKind::supply_back), 1U);
}

TEST(RunTracker, WhatAStuckOutputSendsBackIsNotTheRuns) {
  Site site(2);
  const auto both = [&](double first, double second, double back, int seconds) {
    for (int i = 0; i < seconds; ++i) {
      site.now += Millis{1000};
      site.amps(1, first + (i % 3) * 0.001);
      site.amps(2, second + (i % 3) * 0.001);
      site.tracker->reading({{ChannelKind::common_current, 0}, site.now, back, false});
    }
  };
  const auto run_first = [&](double stuck) {
    site.command(1, true);
    both(0.25, stuck, 0.25 + stuck, 90);
    site.command(1, false);
    both(0, stuck, stuck, 60);
  };
  site.command(2, false);
  run_first(0);
  run_first(0.30);
  ASSERT_NE(site.finished(1), nullptr);
  EXPECT_NEAR(site.finished(0)->common_amps, 0.25, 0.01);
  EXPECT_FALSE(measured(site.finished(1)->common_amps));
}

TEST(RunTracker, GoesOnWithinARunFromWhatItSaved) {
  Site site, other;
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
