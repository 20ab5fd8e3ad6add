// Held against splices of the simulator: what was forecast while they grew, and when they really got there.
// Of the forecasts that are said, the intervals meant for 80 of 100 must hold the truth in 75 to 85.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <random>

#include "daemon/forecast/draw_forecast.h"
#include "daemon/simulate/fault_plan.h"

namespace coilward {
namespace {

constexpr double kDayS = 86'400;
constexpr int kSplices = 500;
const UtcTime kStart = *parse_rfc3339("2026-05-04T06:00:00Z");

struct Splice {
  std::complex<double> ohms;  // of the zone without it: coil, wire and source
  simulate::FaultPlan plan;
  double noise = 0;  // of a run's level, relative
  double now_day = 0, lift_day = 0;
  // Share of the normal draw with so many ohms more.
  double share(double added) const { return std::abs(ohms) / std::abs(ohms + added); }
};

// The day on which the grown ohms, without what wet days add and take, bring the draw down to the share.
double day_of(const Splice& splice, double share) {
  double low = 0, high = 1e4;
  for (int i = 0; i < 60; ++i) {
    const double ohms = (low + high) / 2;
    (splice.share(ohms) > share ? low : high) = ohms;
  }
  return splice.plan.begin_s / kDayS + (low - splice.plan.ohms) / splice.plan.ohms_per_day;
}

Splice drawn(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<>(low, high)(random);
  };
  Splice splice;
  splice.ohms = {between(30, 50), between(55, 100)};  // held plunger, 24 V, 0.2 to 0.35 A
  splice.plan.fault = Fault::high_resistance;
  splice.plan.zone = 4;
  splice.plan.begin_s = between(10, 30) * kDayS;
  splice.plan.ohms = between(0, 3);
  splice.plan.ohms_per_day = between(0.3, 2);
  splice.noise = 0.002 * std::pow(5, between(0, 1));
  splice.lift_day = day_of(splice, ForecastConfig{}.lift_share);
  const double begin = splice.plan.begin_s / kDayS;
  splice.now_day = begin + between(0.3, 0.8) * (splice.lift_day - begin);
  return splice;
}

// A run a day, at six.
std::vector<DrawShare> watched(const Splice& splice, std::uint64_t seed) {
  std::mt19937_64 random(seed + 1'000'000);
  std::normal_distribution<> noise(0, splice.noise);
  std::vector<DrawShare> shares;
  for (double day = 0; day < splice.now_day; ++day) {
    const double seconds = day * kDayS;
    const double added = seconds < splice.plan.begin_s ? 0 : simulate::grown_ohms(splice.plan, seconds);
    shares.push_back({kStart + Millis{static_cast<std::int64_t>(seconds * 1000)},
                      splice.share(added) * (1 + noise(random))});
  }
  return shares;
}

double days(UtcTime time) { return static_cast<double>((time - kStart).count()) / (kDayS * 1000); }

TEST(DrawForecastBackTest, EightyOfAHundredIntervalsHoldTheTruth) {
  int said = 0, held = 0, sooner = 0, later = 0;
  double width = 0;
  for (std::uint64_t seed = 1; seed <= kSplices; ++seed) {
    const Splice splice = drawn(seed);
    const auto forecast = forecast_draw(watched(splice, seed), {});
    if (!forecast) continue;
    ++said;
    width += days(forecast->lift.high) - days(forecast->lift.low);
    if (splice.lift_day < days(forecast->lift.low))
      ++sooner;
    else if (splice.lift_day > days(forecast->lift.high))
      ++later;
    else
      ++held;
  }
  fmt::print(
      "{} splices, {} forecasts said, truth inside {:.3f}, sooner {:.3f}, later {:.3f}, mean width {:.1f} "
      "days\n",
      kSplices, said, double(held) / said, double(sooner) / said, double(later) / said, width / said);
  EXPECT_GT(said, kSplices / 3);
  EXPECT_GE(double(held) / said, 0.75);
  EXPECT_LE(double(held) / said, 0.85);
}

}  // namespace
}  // namespace coilward
