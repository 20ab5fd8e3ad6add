#include "daemon/runs/never_ran.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

const UtcTime kStart = *parse_rfc3339("2026-05-04T05:00:00Z");

void days(NeverRan& watch, int from, int to, const std::vector<int>& zones, int every = 1) {
  for (int day = from; day < to; day += every)
    for (int zone : zones)
      watch.ran(zone, kStart + std::chrono::hours(24 * day) + std::chrono::minutes(10 * zone));
}

TEST(NeverRan, IsToldOnceWhenTheProgrammeHasComeRound) {
  NeverRan watch({1, 2, 3});
  days(watch, 0, 9, {1, 3});
  EXPECT_TRUE(watch.overdue().empty());
  days(watch, 9, 11, {1, 3});
  EXPECT_EQ(watch.overdue(), std::vector<int>{2});
  EXPECT_TRUE(watch.overdue().empty());
}

TEST(NeverRan, OnceAWeekIsEnough) {
  NeverRan watch({1, 2});
  days(watch, 0, 7, {1});
  watch.ran(2, kStart + std::chrono::hours(24 * 6));
  days(watch, 7, 21, {1});
  EXPECT_TRUE(watch.overdue().empty());
}

TEST(NeverRan, FewRunsSayNothing) {
  NeverRan watch({1, 2});
  days(watch, 0, 15, {1}, 7);
  EXPECT_TRUE(watch.overdue().empty());
}

TEST(NeverRan, GoesOnFromWhatItSaved) {
  NeverRan watch({1, 2});
  days(watch, 0, 9, {1});
  NeverRan next({1, 2});
  next.restore(Json::parse(watch.save().dump()));
  days(next, 9, 11, {1});
  EXPECT_EQ(next.overdue(), std::vector<int>{2});
}

}  // namespace
}  // namespace coilward
