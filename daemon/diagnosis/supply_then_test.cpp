// Nobody measures the volts, and they differ by several per cent from day to day: what the first zone of a
// watering showed is weighed again when its neighbours have shown what the supply was.
#include <gtest/gtest.h>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

struct UnsteadySite : FakeSite {
  FindingLog log;
  std::mt19937 days{17};
  UnsteadySite() : FakeSite(5), log(config) {}
  void water_days(int count) {
    std::normal_distribution<double> mains(0, 0.025);
    for (int day = 0; day < count; ++day) {
      supply_factor = std::exp(mains(days));
      water(log.runs);
    }
  }
};

TEST(SupplyThen, SoundZonesStaySound) {
  UnsteadySite site;
  site.water_days(40);
  EXPECT_TRUE(site.log.told.empty());
}

TEST(SupplyThen, APlungerOfTheFirstZoneKeepsItsName) {
  UnsteadySite site;
  site.water_days(20);
  site.zones[0].plunger_out = true;
  site.water_days(12);
  ASSERT_EQ(site.log.diagnosis.open_findings().size(), 1U);
  EXPECT_EQ(site.log.diagnosis.open_findings()[0].zones, std::vector<int>{1});
  for (const auto& finding : site.log.told)
    EXPECT_EQ(finding.fault, Fault::plunger_not_seated) << finding.summary;
}

}  // namespace
}  // namespace coilward
