// Faults that show one level, without a switch-on waveform and without a sensor on the common, are told apart
// by how far the current falls while the coil warms.
#include <gtest/gtest.h>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

struct WarmSite : FakeSite {
  FindingLog log;
  WarmSite() : FakeSite(4), log(config) {
    kelvin_per_watt = 20;
    supply_channel = true;
  }
  void days(int count) {
    for (int day = 0; day < count; ++day) water(log.runs, 480);
  }
  double level(int i) const { return std::abs(amps(i, true)); }
};

// What is open of zone 2 after five days with what `spoil` did to it.
Finding told(const std::function<void(WarmSite&)>& spoil) {
  WarmSite site;
  site.days(12);
  EXPECT_TRUE(site.log.told.empty());
  spoil(site);
  site.days(5);
  const auto& open = site.log.diagnosis.open_findings();
  EXPECT_EQ(open.size(), 1U);
  return open.empty() ? Finding{} : open[0];
}

TEST(WarmUpTells, APlungerThatIsOut) {
  const Finding finding = told([](WarmSite& site) { site.zones[1].plunger_out = true; });
  EXPECT_EQ(finding.fault, Fault::plunger_not_seated);
  EXPECT_GT(finding.probability, 0.9);
}

TEST(WarmUpTells, ALeakOfTheSameLevel) {
  const Finding finding = told([](WarmSite& site) {
    WarmSite out;
    out.zones[1].plunger_out = true;
    while (site.level(1) < out.level(1))
      site.zones[1].leak_ohms = std::min(1000.0, site.zones[1].leak_ohms) - 1;
  });
  EXPECT_NE(finding.fault, Fault::plunger_not_seated);
  for (const auto& other : finding.alternatives)
    if (other.fault == Fault::plunger_not_seated) EXPECT_LT(other.probability, 0.05);
}

}  // namespace
}  // namespace coilward
