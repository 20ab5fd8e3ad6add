#include "daemon/diagnosis/cause_size.h"

#include <gtest/gtest.h>

#include <cmath>

namespace coilward {
namespace {

// R 32, X 95 seated: 100.2 ohm. With 8 ohm more 103.1: by hand.
ZoneElectrics zone() {
  ZoneElectrics z;
  z.coil_ohms = 32;
  z.seated_ohms = 95;
  z.open_ohms = 48;
  return z;
}

Observation seen(double added, UtcTime start = from_ms(0)) {
  Observation o;
  o.start = start;
  o.hold_ratio = std::hypot(32.0, 95.0) / std::hypot(32.0 + added, 95.0);
  o.hold_sd = 0.004;
  return o;
}

TEST(CauseSize, OhmsComeBackOutOfTheRatio) {
  for (double ohms : {0.0, 2.5, 8.0, 60.0}) EXPECT_NEAR(ohms_seen(zone(), seen(ohms)).ohms, ohms, 1e-9);
}

// A hint of the circuit: 8 ohms take 2.8 % off the holding current and 7.6 % off the inrush.
TEST(CauseSize, InrushTellsTheOhmsBetter) {
  Observation o = seen(8);
  const double by_hold = ohms_seen(zone(), o).sd;
  o.inrush_ratio = std::hypot(32.0, 48.0) / std::hypot(40.0, 48.0);
  o.inrush_sd = 0.004;
  EXPECT_NEAR(ohms_seen(zone(), o).ohms, 8, 1e-6);
  EXPECT_LT(ohms_seen(zone(), o).sd, 0.5 * by_hold);
}

TEST(CauseSize, DeadRunSaysNothing) {
  Observation o = seen(0);
  o.hold_ratio = 0.01;
  EXPECT_FALSE(measured(ohms_seen(zone(), o).ohms));
}

TEST(CauseSize, OneOddOutputDoesNotMoveTheCommon) {
  std::vector<ZoneElectrics> fitted(3, zone());
  std::vector<ZoneFilter> filters;
  for (double ohms : {9.0, 9.5, 60.0}) {
    filters.emplace_back(zone(), 1.0);
    filters.back().add(seen(ohms));
  }
  const int zones[] = {0, 1, 2};
  EXPECT_NEAR(common_ohms(zones, from_ms(0), false, filters, fitted), 9.5, 0.6);
  EXPECT_FALSE(measured(common_ohms(zones, from_ms(1000), false, filters, fitted)));
}

TEST(CauseSize, SupplyIsWhatAllShare) {
  std::vector<ZoneFilter> filters;
  for (double ratio : {0.90, 0.91, 0.90, 0.60}) {
    filters.emplace_back(zone(), 1.0);
    Observation o = seen(0);
    o.hold_ratio = ratio;
    filters.back().add(o);
  }
  EXPECT_NEAR(supply_factor(from_ms(0), filters), 0.90, 0.011);
}

}  // namespace
}  // namespace coilward
