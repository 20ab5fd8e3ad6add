// How a zone's sensor compares with its common's: what the others say of it before it has run often itself.
#include "daemon/diagnosis/usual_levels.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

struct Balance {
  FakeSite fake{6};
  SiteElectrics site = site_electrics(fake.config);
  UsualLevelsLearner usual{site};
  void learn(int output, double returned) {
    coilward::Run run;
    run.common_amps = returned * 0.25;
    Observation seen;
    seen.index = output;
    seen.sent_amps = 0.25;
    usual.learn(run, seen, true);
  }
  double expected(int output) const { return usual.levels().returned[static_cast<std::size_t>(output)]; }
  double sd(int output) const { return usual.levels().returned_sd[static_cast<std::size_t>(output)]; }
};

TEST(UsualLevels, OthersSayWhatAnOutputReturns) {
  Balance balance;
  EXPECT_NEAR(balance.sd(5), 0.042, 0.002);  // two sensors of 3 %
  const double ratios[] = {1.04, 1.05, 1.03, 1.045, 1.035};
  for (int output = 0; output < 5; ++output) balance.learn(output, ratios[output]);
  EXPECT_NEAR(balance.expected(5), 1.04, 0.005);
  EXPECT_LT(balance.sd(5), 0.025);
}

TEST(UsualLevels, ItsOwnRunsSayItBetter) {
  Balance balance;
  for (int run = 0; run < 6; ++run)
    for (int output = 0; output < 6; ++output) balance.learn(output, output == 5 ? 1.04 : 1.0);
  EXPECT_NEAR(balance.expected(5), 1.04, 0.004);
  EXPECT_NEAR(balance.sd(5), 0.01, 0.001);
  Balance again;
  again.usual.restore(balance.usual.save());
  EXPECT_DOUBLE_EQ(again.expected(5), balance.expected(5));
}

TEST(UsualLevels, OneThatIsOffAmongTheOthersDoesNotWidenThem) {
  Balance balance;
  for (int output = 0; output < 4; ++output) balance.learn(output, 1.0);
  balance.learn(4, 0.85);
  EXPECT_NEAR(balance.expected(5), 1.0, 0.001);
  EXPECT_LT(balance.sd(5), 0.025);
}

// A leak that was there before the watch began, where the common has a sensor and nothing is rated.
TEST(UsualLevels, ALeakFromTheFirstDayIsTold) {
  FakeSite site(6);
  site.common_channel = true;
  for (auto& zone : site.config.zones) zone.hold_amps = zone.inrush_amps = kNotMeasured;
  site.zones[3].leak_ohms = 200;
  FindingLog log(site.config);
  for (int day = 0; day < 8; ++day) site.water(log.runs);
  const auto& open = log.diagnosis.open_findings();
  ASSERT_EQ(open.size(), 1U);
  EXPECT_EQ(open[0].fault, Fault::earth_leakage);
  EXPECT_EQ(open[0].zones, std::vector<int>{4});
}

}  // namespace
}  // namespace coilward
