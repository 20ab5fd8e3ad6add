#include "daemon/forecast/run_shares.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

Run run_of(int zone, double day, double amps) {
  Run run;
  run.zone = zone;
  run.start = *parse_rfc3339("2026-05-04T06:00:00Z") + Millis{static_cast<std::int64_t>(day * 86'400'000)};
  run.hold_amps = amps;
  return run;
}

NormalDraw normal_of(int zone, double amps, bool provisional = false) {
  NormalDraw normal;
  normal.zone = zone;
  normal.hold_amps = amps;
  normal.provisional = provisional;
  return normal;
}

TEST(RunShares, WhatMovesAllZonesIsTakenOut) {
  std::vector<coilward::Run> runs;
  for (int day = 0; day < 10; ++day) {
    const double season = 1 + 0.01 * day;
    for (int zone = 1; zone <= 3; ++zone) runs.push_back(run_of(zone, day, 0.25 * season));
    runs.push_back(run_of(4, day, 0.2 * season * (1 - 0.02 * day)));
  }
  const auto shares =
      shares_of(4, runs, {normal_of(1, 0.25), normal_of(2, 0.25), normal_of(3, 0.25), normal_of(4, 0.2)});
  ASSERT_EQ(shares.size(), 10u);
  for (int day = 0; day < 10; ++day)
    EXPECT_NEAR(shares[static_cast<std::size_t>(day)].share, 1 - 0.02 * day, 0.012) << day;
}

TEST(RunShares, WhatDoesNotTellIsLeftOut) {
  std::vector<coilward::Run> runs = {run_of(4, 1, 0.19), run_of(4, 0, 0.2), run_of(4, 2, kNotMeasured),
                                     run_of(4, 3, 0.18)};
  runs[3].shared_with = {1};
  const auto shares = shares_of(4, runs, {normal_of(4, 0.2)});
  ASSERT_EQ(shares.size(), 2u);
  EXPECT_DOUBLE_EQ(shares[0].share, 1) << "oldest first";
  EXPECT_DOUBLE_EQ(shares[1].share, 0.95);
  EXPECT_TRUE(shares_of(4, runs, {normal_of(4, 0.2, true)}).empty()) << "not learned yet";
  EXPECT_TRUE(shares_of(4, runs, {}).empty());
}

}  // namespace
}  // namespace coilward
