#include "daemon/runs/pause_watch.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

using std::chrono::hours, std::chrono::minutes;

// Waters for an hour, in two runs, every few days.
struct Garden {
  PauseWatch watch;
  UtcTime now = *parse_rfc3339("2026-06-01T05:00:00Z");

  void water(int times, int every_days) {
    for (int i = 0; i < times; ++i, now += hours(24 * every_days)) {
      watch.ran(now, now + minutes(20));
      watch.ran(now + minutes(30), now + minutes(60));
    }
  }
  // Days after which it is told; 0: not within the month.
  double silent_for(UtcTime heard_since = kNever) {
    const UtcTime from = now;
    for (; now < from + hours(24 * 30); now += minutes(10))
      if (watch.silent_since(now, heard_since) != kNever) return seconds_between(from, now) / 86400;
    return 0;
  }
};

TEST(PauseWatch, RainDelayIsNoSilence) {
  Garden garden;
  garden.water(6, 2);
  for (int delay = 1; delay <= 4; ++delay) {
    const UtcTime until = garden.now + hours(24 * delay);
    for (; garden.now < until; garden.now += minutes(10))
      ASSERT_EQ(garden.watch.silent_since(garden.now, kNever), kNever) << delay;
    garden.water(6, 2);
  }
}

TEST(PauseWatch, LongerThanAnyDelayIsToldOnce) {
  Garden garden;
  garden.water(6, 2);
  const double days = garden.silent_for();
  EXPECT_GT(days, 5);
  EXPECT_LT(days, 8);
  EXPECT_EQ(garden.silent_for(), 0);
}

// One delay among the pauses does not make the next one usual.
TEST(PauseWatch, DelayIsNotLearned) {
  Garden garden;
  garden.water(10, 1);
  garden.now += hours(24 * 4);
  garden.water(3, 1);
  EXPECT_LT(garden.silent_for(), 7);
}

TEST(PauseWatch, UnknownProgrammeIsNotJudged) {
  Garden garden;
  garden.water(4, 2);
  EXPECT_EQ(garden.silent_for(), 0);
}

// Five days say nothing of the weekend.
TEST(PauseWatch, WeekIsLearnedBeforeItIsJudged) {
  Garden garden;
  garden.water(5, 1);
  EXPECT_EQ(garden.silent_for(), 0);
}

TEST(PauseWatch, WhatWasNotHeardDoesNotCount) {
  Garden garden;
  garden.water(10, 1);
  const double days = garden.silent_for(garden.now + hours(48));
  EXPECT_GT(days, 7);
}

TEST(PauseWatch, GoesOnFromWhatWasSaved) {
  Garden garden;
  garden.water(10, 1);
  PauseWatch other;
  other.restore(garden.watch.save());
  garden.watch = other;
  EXPECT_GT(garden.silent_for(), 4);
}

}  // namespace
}  // namespace coilward
