#include "daemon/diagnosis/zone_grids.h"

#include <gtest/gtest.h>

#include <cmath>

#include "daemon/circuit/coil.h"
#include "daemon/diagnosis/fake_coil.h"

namespace coilward {
namespace {

std::vector<std::vector<SizedPrediction>> all(const ZoneElectrics& zone) {
  return {lost_turns(zone), plungers_out(zone), leaks_to_earth(zone), sensor_gains()};
}

TEST(ZoneGrids, ChancesOfSizesAddUpToOne) {
  for (const auto& row : all(fake_coil())) {
    double sum = 0;
    for (const auto& sized : row) sum += sized.share;
    EXPECT_NEAR(sum, 1, 1e-9);
  }
}

// No level between two sizes is further from both than their tolerance allows for.
TEST(ZoneGrids, SizesStandCloseTogether) {
  for (const auto& row : {lost_turns(fake_coil()), plungers_out(fake_coil()), leaks_to_earth(fake_coil())})
    for (std::size_t i = 1; i < row.size(); ++i) {
      const double step = std::abs(std::log(row[i].prediction.hold / row[i - 1].prediction.hold));
      EXPECT_LT(step, 3.6 * row[i].prediction.hold_tolerance) << i;
    }
}

// The chances kept from before a coil was known better are by position.
TEST(ZoneGrids, AnotherCoilHasAsManySizes) {
  ZoneElectrics other = fake_coil();
  other.coil_ohms *= 1.4;
  other.open_ohms *= 0.8;
  other.inrush_sd = 0.04;
  const auto one = all(fake_coil()), two = all(other);
  for (std::size_t i = 0; i < one.size(); ++i) EXPECT_EQ(one[i].size(), two[i].size());
}

// The circuit's own coil with turns lost, through the same wire.
TEST(ZoneGrids, LostTurnsAreThoseOfTheCircuit) {
  const ZoneElectrics zone = fake_coil();
  const circuit::Coil whole{zone.coil_ohms, zone.seated_ohms, zone.open_ohms};
  const auto amps = [&](double turns, bool seated) {
    return 1 / std::abs(zone.copper_ohms() + circuit::coil_impedance(whole, {seated, turns, 20}));
  };
  for (const auto& sized : lost_turns(zone)) {
    EXPECT_NEAR(sized.prediction.hold, amps(sized.size, true) / amps(1, true), 1e-6);
    EXPECT_NEAR(sized.prediction.inrush, amps(sized.size, false) / amps(1, false), 1e-6);
  }
}

// What leaks does not come back: normal current over all of it.
TEST(ZoneGrids, LeakIsMissedOnTheCommon) {
  for (const auto& sized : leaks_to_earth(fake_coil()))
    EXPECT_NEAR(sized.prediction.returned * sized.prediction.hold, 1, 1e-9);
}

// With the plunger out the coil draws its inrush current and goes on to.
TEST(ZoneGrids, PlungerLeftOutDrawsTheInrush) {
  const ZoneElectrics zone = fake_coil();
  const double inrush = std::abs(zone.hold_impedance()) / std::abs(zone.inrush_impedance());
  const auto row = plungers_out(zone);
  EXPECT_TRUE(std::any_of(row.begin(), row.end(), [&](const auto& sized) {
    return std::abs(sized.prediction.hold / inrush - 1) < 0.04 && sized.share > 0.02;
  }));
}

}  // namespace
}  // namespace coilward
