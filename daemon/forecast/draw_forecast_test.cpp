#include "daemon/forecast/draw_forecast.h"

#include <gtest/gtest.h>

#include <random>

#include "daemon/forecast/robust_trend.h"

namespace coilward {
namespace {

constexpr double kDayMillis = 86'400'000;
const UtcTime kSpring = *parse_rfc3339("2026-05-04T06:00:00Z");
UtcTime at_day(double days) { return kSpring + Millis{static_cast<std::int64_t>(days * kDayMillis)}; }
double days_of(UtcTime time) { return static_cast<double>((time - kSpring).count()) / kDayMillis; }

// A splice whose ohms grow from `begin` on, as a share of the zone's impedance a day.
std::vector<DrawShare> corroding(double days, double begin, double rise, double noise,
                                 std::uint64_t seed = 1) {
  std::mt19937_64 random(seed);
  std::normal_distribution<> spread(0, noise);
  std::vector<DrawShare> shares;
  for (double d = 0; d < days; ++d)
    shares.push_back({at_day(d), 1 / (1 + rise * std::max(0.0, d - begin)) * (1 + spread(random))});
  return shares;
}

TEST(TheilSen, IsNotBentByAQuarterOfWrongPoints) {
  std::vector<TrendPoint> points;
  for (int i = 0; i < 40; ++i) points.push_back({double(i), i % 4 == 1 ? 1000.0 * (i % 3) : 3 + 0.5 * i});
  const Trend trend = theil_sen(points);
  EXPECT_NEAR(trend.slope, 0.5, 0.1);
  EXPECT_NEAR(trend.at(0), 3, 2);
  EXPECT_EQ(theil_sen(std::vector<TrendPoint>{{1, 2}, {1, 4}}).slope, 0);
  EXPECT_EQ(median_of({3, 1, 2}), 2);
  EXPECT_EQ(median_of({4, 1, 2, 3}), 2.5);
}

TEST(TheilSen, FindsWhereALineBegins) {
  std::vector<TrendPoint> points;
  for (int i = 0; i < 60; ++i) points.push_back({double(i), i < 30 ? 0.001 * (i % 3) : 0.02 * (i - 30)});
  EXPECT_NEAR(static_cast<double>(trend_begin(points, 10)), 30 + 0.3 * 30, 3);
}

TEST(DrawForecastTest, SaysWhenTheThresholdsAreReached) {
  const auto forecast = forecast_draw(corroding(40, 20, 0.005, 0.002), {});
  ASSERT_TRUE(forecast);
  EXPECT_NEAR(days_of(forecast->lift.likely), 20 + 0.25 / 0.005, 6);  // 1 / 0.80 - 1 is 0.25
  EXPECT_LT(forecast->lift.low, forecast->lift.likely);
  EXPECT_LT(forecast->lift.likely, forecast->lift.high);
  EXPECT_NEAR(forecast->share_now, 1 / (1 + 0.005 * 19), 0.01);
  EXPECT_GE(forecast->runs, 10);
}

TEST(DrawForecastTest, FollowsTheThresholdsThatAreSet) {
  const auto shares = corroding(40, 0, 0.005, 0.001);
  const auto high = forecast_draw(shares, {0.82, 0.5}), low = forecast_draw(shares, {0.70, 0.5});
  ASSERT_TRUE(high && low);
  EXPECT_LT(high->lift.likely, low->lift.likely);
}

TEST(DrawForecastTest, SaysNothingWhereThereIsNothingToSay) {
  EXPECT_FALSE(forecast_draw({}, {}));
  EXPECT_FALSE(forecast_draw(corroding(9, 0, 0.01, 0.001), {})) << "too few runs";
  EXPECT_FALSE(forecast_draw(corroding(60, 60, 0, 0.01), {})) << "no trend";
  EXPECT_FALSE(forecast_draw(corroding(60, 30, -0.002, 0.002), {})) << "it rises";
  EXPECT_FALSE(forecast_draw(corroding(60, 20, 0.02, 0.002), {})) << "it is below already";
  EXPECT_FALSE(forecast_draw(corroding(30, 0, 0.0008, 0.03), {})) << "the interval is too wide";
}

// A splice that was made badly, or knocked: it does not get worse by itself.
TEST(DrawForecastTest, AStepThatStaysIsNoTrend) {
  for (int since = 1; since <= 30; ++since)
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      auto shares = corroding(20 + since, 100, 0, 0.002, seed);
      for (std::size_t i = 20; i < shares.size(); ++i) shares[i].share *= 0.92;
      EXPECT_FALSE(forecast_draw(shares, {})) << since << " runs since, seed " << seed;
    }
}

TEST(DrawForecastTest, IsTheSameEachTime) {
  const auto shares = corroding(40, 20, 0.005, 0.002);
  EXPECT_EQ(forecast_draw(shares, {})->lift.high, forecast_draw(shares, {})->lift.high);
}

}  // namespace
}  // namespace coilward
