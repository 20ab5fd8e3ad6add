#include "daemon/simulate/solenoid.h"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

namespace coilward::simulate {
namespace {

SolenoidRating random_rating(Chance& chance) {
  SolenoidRating rating;
  rating.hold_amps = chance.between(0.15, 0.5);
  rating.inrush_amps = rating.hold_amps * chance.between(1.3, 2.2);
  rating.hertz = chance.happens(0.5) ? 50 : 60;
  return rating;
}

TEST(Solenoid, MeetsItsRating) {
  Chance chance(7);
  for (int i = 0; i < 500; ++i) {
    const SolenoidRating rating = random_rating(chance);
    const Solenoid coil = make_solenoid(rating, chance);
    EXPECT_NEAR(rated_amps(coil, coil.seated_mm, rating.volts, rating.hertz), rating.hold_amps, 1e-6);
    EXPECT_NEAR(rated_amps(coil, coil.open_mm, rating.volts, rating.hertz), rating.inrush_amps, 1e-6);
  }
}

TEST(Solenoid, IsOneThatCouldBeWound) {
  Chance chance(8);
  for (int i = 0; i < 500; ++i) {
    const Solenoid coil = make_solenoid(random_rating(chance), chance);
    EXPECT_GT(coil.ohms_20, 5);
    EXPECT_LT(coil.ohms_20, 110);
    EXPECT_GT(coil.open_mm, 1.0);
    EXPECT_LT(coil.open_mm, 8.0);
    EXPECT_GT(coil.mass_kg, 0);
    const double ratio = inductance(coil, coil.seated_mm) / inductance(coil, coil.open_mm);
    EXPECT_GT(ratio, 1.45);
    EXPECT_LT(ratio, 3.41);
  }
}

// The finite-element table that the shape was fitted to; tests/reference/solenoid/SOURCE.md.
TEST(Solenoid, FollowsTheFiniteElementTable) {
  std::ifstream table(COILWARD_SOURCE_DIR "/tests/reference/solenoid/fea_inductance_vs_gap.csv");
  ASSERT_TRUE(table);
  Solenoid coil;
  coil.seated_mm = 0.25;
  coil.henries_seated = 0.11954;
  std::string line;
  std::getline(table, line);
  int rows = 0;
  while (std::getline(table, line)) {
    double gap_m = 0, newtons = 0, webers = 0, henries = 0;
    char comma = 0;
    std::istringstream(line) >> gap_m >> comma >> newtons >> comma >> webers >> comma >> henries;
    EXPECT_NEAR(inductance(coil, gap_m * 1000) / henries, 1, 0.05) << gap_m;
    ++rows;
  }
  EXPECT_EQ(rows, 20);
}

TEST(Solenoid, PullsHarderTheSmallerTheGap) {
  const Solenoid coil;
  for (double gap = 0.3; gap < 5; gap += 0.1)
    EXPECT_GT(pull_newtons(coil, gap, 0.05), pull_newtons(coil, gap + 0.1, 0.05));
  // The work over the travel is the change of 1/2 L i^2 at constant current.
  double work = 0;
  for (int k = 0; k < 4000; ++k) work += pull_newtons(coil, 1 + (k + 0.5) * 0.001, 0.09) * 1e-6;
  EXPECT_NEAR(work, 0.5 * 0.09 * (inductance(coil, 1) - inductance(coil, 5)), 1e-8);
}

}  // namespace
}  // namespace coilward::simulate
