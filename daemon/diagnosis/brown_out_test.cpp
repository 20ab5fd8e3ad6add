// A supply that is low for part of one watering, on a site that does not measure its volts.
#include <gtest/gtest.h>

#include "daemon/diagnosis/diagnosis.h"
#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

// The zones from `first` on run while it lasts.
void water_with_brown_out(FakeSite& site, FindingLog& log, int first) {
  for (int i = 0; i < static_cast<int>(site.zones.size()); ++i) {
    site.supply_factor = i >= first ? 0.86 : 1;
    site.run_zone(log.runs, i, 60, 1);
    site.idle(log.runs, 3);
  }
  site.supply_factor = 1;
  site.now = std::chrono::floor<std::chrono::days>(site.now) + std::chrono::hours{29};
}

// What is over is not made longer afterwards: the zones that have run well since would need faults of their
// own.
TEST(BrownOut, LeavesNoFindings) {
  FakeSite site(8);
  site.burst = true;
  FindingLog log(site.config);
  for (int day = 0; day < 6; ++day) site.water(log.runs, 40);
  water_with_brown_out(site, log, 3);
  for (int day = 0; day < 6; ++day) site.water(log.runs, 40);
  EXPECT_TRUE(log.told.empty()) << log.told[0].id << " of " << log.told.size();
}

}  // namespace
}  // namespace coilward
