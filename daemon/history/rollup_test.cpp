#include "daemon/history/rollup.h"

#include <gtest/gtest.h>

#include <random>

namespace coilward {
namespace {

constexpr Channel kZone{ChannelKind::zone_current, 1};
constexpr std::int64_t kHour = 493'853;

bool same_minutes(const HourMinutes& a, const HourMinutes& b) {
  for (std::size_t i = 0; i < a.size(); ++i)
    if (a[i].count != b[i].count || (a[i].count > 0 && !(a[i] == b[i]))) return false;
  return true;
}

std::vector<Reading> random_hour(std::mt19937& random, double step) {
  std::vector<Reading> readings;
  for (int i = 0; i < 900; ++i)
    readings.push_back({kZone, hour_start(kHour) + Millis{random() % 3'000'000},
                        step * static_cast<double>(random() % 400)});
  return readings;
}

TEST(RollUp, CountsLowestHighestAndMean) {
  const std::vector<Reading> readings = {{kZone, hour_start(kHour), 0.25},
                                         {kZone, hour_start(kHour) + Millis{59'999}, 0.75},
                                         {kZone, hour_start(kHour) + Millis{60'000}, -1.0}};
  const auto minutes = minutes_of(readings, kHour);
  EXPECT_EQ(minutes[0].count, 2u);
  EXPECT_EQ(minutes[0].mean(), 0.5);
  EXPECT_EQ(minutes[1].lowest, -1.0);
  EXPECT_EQ(minutes[2].count, 0u);
  EXPECT_TRUE(std::isnan(minutes[2].mean()));
  EXPECT_EQ(total_of(minutes).count, 3u);
  EXPECT_EQ(total_of(minutes).highest, 0.75);
}

TEST(RollUp, IsPackedExactly) {
  std::mt19937 random(3);
  for (double step : {0.001, 0.1, 1.0 / 3, 1e7 / 3}) {
    const auto minutes = minutes_of(random_hour(random, step), kHour);
    const auto back = unpack_minutes(pack_minutes(minutes));
    ASSERT_TRUE(back) << step;
    EXPECT_TRUE(same_minutes(*back, minutes)) << step;
  }
  const auto none = unpack_minutes(pack_minutes({}));
  ASSERT_TRUE(none);
  EXPECT_EQ(total_of(*none).count, 0u);
}

TEST(RollUp, IsSmall) {
  std::mt19937 random(4);
  const auto size = pack_minutes(minutes_of(random_hour(random, 0.001), kHour)).size();
  printf("[ measured ] roll-up of an hour of random values: %zu bytes\n", size);
  EXPECT_LT(size, 500u);  // the noisiest there is: a zone in use takes a third of it
}

TEST(RollUp, RefusesEveryTruncation) {
  std::mt19937 random(5);
  const auto packed = pack_minutes(minutes_of(random_hour(random, 0.001), kHour));
  for (std::size_t size = 0; size < packed.size(); ++size)
    ASSERT_FALSE(unpack_minutes(std::string_view(packed).substr(0, size))) << size;
}

TEST(RollUp, PutsTimesBefore1970InTheHourBefore) { EXPECT_EQ(hour_of(from_ms(-1)), -1); }

}  // namespace
}  // namespace coilward
