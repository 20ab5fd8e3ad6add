#include "daemon/draw/warm_up.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

namespace coilward {
namespace {

// A run of ten minutes, a reading a second, of a coil whose current falls by `whole` in the end.
Run warming(double whole, double minutes = 10) {
  Run run;
  run.zone = 1;
  run.start = *parse_rfc3339("2026-05-04T05:00:00Z");
  run.end = run.start + Millis{static_cast<std::int64_t>(60'000 * minutes)};
  run.readings = static_cast<std::uint32_t>(60 * minutes);
  const auto at = [&](double seconds) { return 0.25 * (1 - whole * (1 - std::exp(-seconds / 360))); };
  run.hold_amps = at(40);
  run.hold_spread_amps = 0.001;
  run.last_amps = at(60 * minutes - 6);
  return run;
}

TEST(WarmUp, IsLearnedWhateverTheLengthOfTheRuns) {
  WarmUpModel model(1);
  std::mt19937 random(5);
  std::normal_distribution<double> mains(0, 0.002);
  for (int i = 0; i < 30; ++i) {
    auto run = warming(0.05, i % 2 == 0 ? 6 : 12);
    run.last_amps *= 1 + mains(random);
    model.learn(0, WarmUpModel::seen(run), 1);
  }
  const WarmUp next = WarmUpModel::seen(warming(0.05, 9));
  const WarmUpForecast forecast = model.forecast(0, next);
  EXPECT_NEAR(forecast.fall, next.fall, 0.15 * next.fall);
  EXPECT_LT(forecast.lasting_sd, 0.22);
}

TEST(WarmUp, ShortRunsAndChangingCompanyShowNothing) {
  EXPECT_FALSE(measured(WarmUpModel::seen(warming(0.05, 1.5)).fall));
  auto shared = warming(0.05);
  shared.shared_with = {2};
  EXPECT_FALSE(measured(WarmUpModel::seen(shared).fall));
  shared.shared_with = {kMasterZone};  // on throughout
  EXPECT_TRUE(measured(WarmUpModel::seen(shared).fall));
  auto tripped = warming(0.05);
  tripped.ended = RunEnd::cut_out;
  EXPECT_FALSE(measured(WarmUpModel::seen(tripped).fall));
}

// The sensor's zero is no current that could fall.
TEST(WarmUp, TheSensorsZeroIsTakenOff) {
  const auto plain = warming(0.05);
  auto moved = plain;
  moved.idle_amps = 0.05;
  moved.hold_amps += 0.05;
  moved.last_amps += 0.05;
  EXPECT_NEAR(WarmUpModel::seen(moved).fall, WarmUpModel::seen(plain).fall, 1e-9);
}

TEST(WarmUp, OneWildRunMovesLittle) {
  WarmUpModel model(1);
  for (int i = 0; i < 20; ++i) model.learn(0, WarmUpModel::seen(warming(0.05)), 1);
  const WarmUp usual = WarmUpModel::seen(warming(0.05));
  const double before = model.forecast(0, usual).fall;
  model.learn(0, WarmUpModel::seen(warming(0.30)), 1);
  EXPECT_NEAR(model.forecast(0, usual).fall, before, 0.1 * before);
}

TEST(WarmUp, AnotherCoilIsLearnedAnewAndStateIsKept) {
  WarmUpModel model(2);
  for (int i = 0; i < 20; ++i) model.learn(1, WarmUpModel::seen(warming(0.08)), 1);
  WarmUpModel other(2);
  other.restore(Json::parse(model.save().dump()));
  const WarmUp seen = WarmUpModel::seen(warming(0.08));
  EXPECT_DOUBLE_EQ(other.forecast(1, seen).fall, model.forecast(1, seen).fall);
  other.forget(1);
  EXPECT_DOUBLE_EQ(other.forecast(1, seen).fall, other.forecast(0, seen).fall);
}

}  // namespace
}  // namespace coilward
