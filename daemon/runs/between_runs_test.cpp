// Between runs: current that nobody asked for, sensors gone quiet or frozen, a dead supply.
#include <gtest/gtest.h>

#include "daemon/runs/hand_site.h"

namespace coilward {
namespace {

TEST(BetweenRuns, CurrentThatGoesOnWithTheCommandOffIsTold) {
  HandSite site;
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
TEST(BetweenRuns, CurrentThatBeginsWithTheCommandOffIsToldWhenItOutlastsARun) {
  HandSite site;
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

TEST(BetweenRuns, WithoutCommandARunBeyondAllOthersIsTold) {
  HandSite site;
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
TEST(BetweenRuns, SensorFrozenOnItsZeroIsTold) {
  for (const double value : {0.004, 0.000}) {
    HandSite site;
    site.carry(1, 0.003, 300);
    for (int i = 0; i < 30; ++i) site.amps(1, (site.now += Millis{1000}, value));
    site.command(1, true);
    for (int i = 0; i < 60; ++i) site.amps(1, (site.now += Millis{1000}, value));
    EXPECT_EQ(site.count(IdleKind::frozen), value > 0 ? 1U : 0U) << "an exact nothing may be a broken wire's";
  }
}

// The very same digits from the start are a frozen sensor's, not an output's that is stuck on.
TEST(BetweenRuns, EqualDigitsAreWaitedFor) {
  HandSite site;
  for (int day = 0; day < 2; ++day) {
    site.command(1, true);
    site.carry(1, 0.240, 300);
    site.command(1, false);
    site.carry(1, 0.000, 300);
  }
  for (int i = 0; i < 1200; ++i) site.amps(1, (site.now += Millis{1000}, 0.243));
  EXPECT_EQ(site.count(IdleKind::frozen), 1U);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 0U);
}

// Once a minute, as with nothing on, but now it carries: the run goes on, and was not meant to.
TEST(BetweenRuns, ASensorThatSpeaksSeldomShowsAStuckOutputAsOneRun) {
  HandSite site;
  const auto minutes = [&](int count, double level) {
    for (int i = 0; i < count; ++i)
      site.amps(1, (site.now += std::chrono::minutes{1}, level + i % 3 * 0.001));
  };
  minutes(100, 0.001);
  site.carry(1, 0.240, 600);
  minutes(10, 0.001);
  site.carry(1, 0.240, 600);
  minutes(180, 0.240);
  const auto ended = std::count_if(site.looks.begin(), site.looks.end(),
                                   [](const auto& it) { return it.second == Look::finished; });
  EXPECT_EQ(ended, 1) << "the one that did end";
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
}

// A recorder that was off for hours says nothing of how often a sensor speaks.
TEST(BetweenRuns, AStuckOutputIsOneRunAlsoAfterTheLinkWasAway) {
  HandSite site;
  const auto readings = [&](int count, double level, std::chrono::minutes every) {
    for (int i = 0; i < count; ++i) site.amps(1, (site.now += every, level + i % 3 * 0.001));
  };
  readings(200, 0.001, std::chrono::minutes{10});
  site.carry(1, 0.240, 600);
  site.now += std::chrono::hours{17};
  readings(20, 0.001, std::chrono::minutes{10});
  site.carry(1, 0.240, 600);
  readings(30, 0.001, std::chrono::minutes{1});
  site.carry(1, 0.240, 600);
  readings(60, 0.240, std::chrono::minutes{1});
  readings(24, 0.240, std::chrono::minutes{10});
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
}

TEST(BetweenRuns, NothingAfterASilenceEndsARunWhereTheSilenceBegan) {
  HandSite site;
  for (int i = 0; i < 100; ++i) site.amps(1, (site.now += std::chrono::minutes{1}, 0.001 * (i % 2)));
  site.carry(1, 0.240, 300);
  const UtcTime last = site.now;
  site.amps(1, (site.now += std::chrono::minutes{1}, 0.0));
  ASSERT_NE(site.finished(), nullptr);
  EXPECT_EQ(site.finished()->end, last);
}

// Sensors that speak while a zone is on alone, on a site that waters every third day.
TEST(BetweenRuns, ANewSiteMayBeSilentForDays) {
  HandSite site;
  site.command(1, true);
  site.carry(1, 0.240, 600);
  site.command(1, false);
  const auto silent = [&](int hours) {
    for (int m = 0; m < 60 * hours; ++m) site.tracker->advance(site.now += std::chrono::minutes{1});
  };
  silent(72);
  EXPECT_EQ(site.count(IdleKind::link_silent), 0U);
  silent(6 * 24);
  EXPECT_EQ(site.count(IdleKind::link_silent), 1U);
}

// Where nobody speaks but while a zone is on, days of rain look like a dead link, and one left out like a
// dead sensor.
TEST(BetweenRuns, WhoSpeaksOnlyWhileOnMayBeSilentForDays) {
  HandSite site(2);
  const auto day = [&](int zones) {
    for (int zone = 1; zone <= zones; ++zone) site.carry(zone, 0.240, 300);
    for (int m = 0; m < 24 * 60; ++m) site.tracker->advance(site.now += std::chrono::minutes{1});
  };
  for (int i = 0; i < 17; ++i) day(2);
  for (int i = 0; i < 5; ++i) day(1);
  EXPECT_EQ(site.count(IdleKind::stale), 0U);
  for (int i = 0; i < 5; ++i) day(0);
  EXPECT_EQ(site.count(IdleKind::link_silent), 0U);
  for (int i = 0; i < 5; ++i) day(0);
  EXPECT_EQ(site.count(IdleKind::link_silent), 1U);
}

// One sensor gone quiet is its own; all of them are the link, said only when it lasts.
TEST(BetweenRuns, SilenceOfEverythingIsTheLinks) {
  HandSite site(2);
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

TEST(BetweenRuns, OneSensorGoneQuietIsStale) {
  HandSite site(2);
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
TEST(BetweenRuns, SensorThatNeverSpokeIsToldAtTheSecondRun) {
  HandSite site(2);
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
TEST(BetweenRuns, SupplyWithoutVoltsIsToldWhenItLasts) {
  HandSite site;
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

TEST(BetweenRuns, WhatAStuckOutputSendsBackIsNotTheRuns) {
  HandSite site(2);
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

// What its readings say of it is not what the others are held against.
TEST(BetweenRuns, ARunWithoutAnEndIsNoCompany) {
  HandSite site(2);
  for (int i = 0; i < 3; ++i) {
    site.carry(1, 0.23, 300);
    site.carry(1, 0.001, 300);
  }
  site.carry(1, 0.07, 3 * 3600);
  ASSERT_EQ(site.count(IdleKind::uncommanded), 1U);
  site.looks.clear();
  for (int i = 0; i < 200; ++i) {
    site.carry(1, 0.07, 1);
    site.amps(2, i < 100 ? 0.25 : 0.0);
  }
  ASSERT_TRUE(site.finished());
  EXPECT_EQ(site.finished()->zone, 2);
  EXPECT_TRUE(site.finished()->shared_with.empty());
}

// A sensor whose zero had moved before it was connected.
TEST(BetweenRuns, ARunThatNeverEndedIsNone) {
  HandSite site;
  site.carry(1, 0.07, 7 * 3600);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 0U);
  site.carry(1, 0.07, 2 * 3600);
  EXPECT_EQ(site.count(IdleKind::uncommanded), 1U);
}

}  // namespace
}  // namespace coilward
