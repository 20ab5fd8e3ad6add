// Which runs of a watering say what the supply is today, where nobody measures it.
#include "daemon/diagnosis/watering.h"

#include <gtest/gtest.h>

#include <cmath>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

struct Morning {
  FakeSite fake{5};
  SiteElectrics site = site_electrics(fake.config);
  DrawModel model{site};
  UtcTime now = fake.now;

  Morning() {
    for (int day = 0; day < 15; ++day, next_day())
      for (int output = 0; output < 5; ++output) model.learn(run(output, 1).sample, 1);
  }
  void next_day() { now = std::chrono::floor<std::chrono::days>(now) + std::chrono::hours(29); }
  // A run that draws so much of what it always does.
  WaitingRun run(int output, double factor, bool teaches = true) {
    coilward::Run run;
    run.zone = output + 1;
    run.start = now;
    run.readings = 60;
    run.hold_amps = 0.24 * factor;
    run.hold_spread_amps = 0.001;
    now += std::chrono::minutes(10);
    model.pass(run.start);
    model.began(output, run.start);
    return {model.sample(run), teaches ? 1.0 : 0.3, teaches};
  }
};

std::vector<int> outputs(const std::vector<WaitingRun>& runs) {
  std::vector<int> list;
  for (const auto& run : runs) list.push_back(run.sample.index);
  return list;
}

TEST(Watering, TheFirstWaitsForOneThatAgrees) {
  Morning morning;
  Watering watering(morning.model, 5);
  ASSERT_TRUE(watering.waits(morning.run(0, 0.98)));
  EXPECT_TRUE(watering.agreed().empty());
  ASSERT_TRUE(watering.waits(morning.run(1, 0.98)));
  const auto agreed = watering.agreed();
  EXPECT_EQ(outputs(agreed), (std::vector<int>{0, 1}));
  for (const auto& run : agreed) morning.model.learn(run.sample, 1);
  EXPECT_FALSE(watering.waits(morning.run(2, 0.98))) << "the supply of today is known";
}

TEST(Watering, OneThatIsOffIsOutvoted) {
  Morning morning;
  Watering watering(morning.model, 5);
  EXPECT_TRUE(watering.waits(morning.run(0, 0.95)));
  EXPECT_TRUE(watering.waits(morning.run(1, 1.0)));
  EXPECT_TRUE(watering.agreed().empty());
  EXPECT_TRUE(watering.waits(morning.run(2, 1.0)));
  EXPECT_EQ(outputs(watering.agreed()), (std::vector<int>{1, 2}));
}

// Something is thought to act on all: it takes most of them to say that it is the supply, and a plausible
// one.
TEST(Watering, ThoseInDoubtSayItTogether) {
  Morning morning;
  Watering few(morning.model, 5), far(morning.model, 5);
  for (int output = 0; output < 2; ++output) few.waits(morning.run(output, 0.98, false));
  EXPECT_TRUE(few.agreed().empty());
  few.waits(morning.run(2, 0.98, false));
  EXPECT_EQ(few.agreed().size(), 3U);
  for (int output = 0; output < 5; ++output) far.waits(morning.run(output, 0.85, false));
  EXPECT_TRUE(far.agreed().empty());
}

TEST(Watering, OneAloneTeachesWhenNothingElseCame) {
  Morning morning;
  Watering watering(morning.model, 5);
  watering.waits(morning.run(0, 0.99));
  EXPECT_TRUE(watering.left_over(morning.now).empty());
  morning.next_day();
  EXPECT_EQ(outputs(watering.left_over(morning.now)), std::vector<int>{0});
  EXPECT_TRUE(watering.left_over(morning.now).empty());
}

}  // namespace
}  // namespace coilward
