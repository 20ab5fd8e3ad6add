#include "daemon/circuit/coil.h"

#include <gtest/gtest.h>

#include <numbers>

#include "daemon/circuit/network.h"
#include "daemon/circuit/reference_data.h"
#include "daemon/circuit/supply.h"

namespace coilward::circuit {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

double amps(const CoilRating& rating, bool seated) {
  return rating.volts / std::abs(coil_impedance(coil_from_rating(rating), {seated}));
}

bool sound(const Coil& coil) {
  return coil.ohms20 > 0 && coil.reactance_open > 0 && coil.reactance_open < coil.reactance_seated;
}

TEST(Coil, DrawsWhatItsRatingSays) {
  const CoilRating rating{24, 0.23, 0.40, 28};
  EXPECT_NEAR(amps(rating, true), 0.23, 1e-12);
  EXPECT_NEAR(amps(rating, false), 0.40, 1e-12);
  EXPECT_DOUBLE_EQ(coil_from_rating(rating).ohms20, 28);
}

// Every combination a maker might print is met exactly, and gives a coil with a plunger.
TEST(Coil, MeetsEveryUsualRating) {
  for (double volts : {12.0, 24.0, 28.0})
    for (double hold = 0.1; hold < 0.5; hold += 0.05)
      for (double inrush_ratio : {1.2, 1.6, 2.5}) {
        const CoilRating rating{volts, hold, hold * inrush_ratio};
        EXPECT_NEAR(amps(rating, true), hold, 1e-12);
        EXPECT_NEAR(amps(rating, false), hold * inrush_ratio, 1e-12);
        EXPECT_TRUE(sound(coil_from_rating(rating)));
      }
}

TEST(Coil, TypicalWithoutARating) {  // common practice: 0.2-0.3 A, 0.3-0.5 A, 20-60 ohm
  const CoilRating unrated;
  EXPECT_GT(amps(unrated, true), 0.2);
  EXPECT_LT(amps(unrated, true), 0.3);
  EXPECT_GT(amps(unrated, false), 0.3);
  EXPECT_LT(amps(unrated, false), 0.5);
  EXPECT_GT(coil_from_rating(unrated).ohms20, 20);
  EXPECT_LT(coil_from_rating(unrated).ohms20, 60);
}

TEST(Coil, HoldingIsKeptWhenFiguresContradictEachOther) {
  const CoilRating contradictions[] = {{24, 0.30, 0.20}, {24, 0.25, 0.25},       {24, 0.25, -1},
                                       {24, 0.25, 0},    {24, 0.25, 0.40, 500},  {24, 0.25, 0.40, -3},
                                       {24, 0.25, 40},   {24, 0.25, kUnknown, 0}};
  for (const CoilRating& rating : contradictions) {
    EXPECT_TRUE(sound(coil_from_rating(rating))) << rating.inrush_amps << " " << rating.dc_ohms;
    EXPECT_NEAR(amps(rating, true), rating.hold_amps, 1e-12);
    EXPECT_GT(amps(rating, false), rating.hold_amps);
  }
  EXPECT_TRUE(sound(coil_from_rating({0, 0, 0, 0})));
  EXPECT_TRUE(sound(coil_from_rating({kUnknown, kUnknown, kUnknown, kUnknown})));
}

// A plunger solenoid's inductance, from finite elements: it falls as the gap opens, so the current rises.
TEST(Coil, AWiderGapDrawsMore) {
  const auto rows = reference_table("solenoid/fea_inductance_vs_gap.csv");
  ASSERT_EQ(rows.size(), 20u);
  double before = 0;
  for (const auto& row : rows) {
    // Scaled to a valve coil: 33 ohm and 94 ohm of reactance at the smallest gap.
    const double reactance = 94 * row.number("static_inductance_H") / rows[0].number("static_inductance_H");
    const double now = 24 / std::abs(coil_impedance({33, reactance, reactance}, {}));
    EXPECT_GT(now, before) << row.text("air_gap_m");
    before = now;
  }
  const double ratio = rows.front().number("static_inductance_H") / rows.back().number("static_inductance_H");
  EXPECT_NEAR(ratio, 3.03, 0.005);
  const Coil typical = coil_from_rating({});  // its reactances differ by less: a valve's plunger moves less
  EXPECT_LT(typical.reactance_seated / typical.reactance_open, ratio);
}

TEST(Coil, AnOpenPlungerLagsLess) {
  const Coil coil = coil_from_rating({24, 0.23, 0.40});
  EXPECT_LT(std::arg(coil_impedance(coil, {false})), std::arg(coil_impedance(coil, {true})));
}

TEST(Coil, WarmCopperHoldsLess) {
  const Coil coil = coil_from_rating({24, 0.23, 0.40});
  const Impedance cold = coil_impedance(coil, {true, 1, 20}), warm = coil_impedance(coil, {true, 1, 80});
  EXPECT_NEAR(warm.real() / cold.real(), 1.236, 0.0005);
  EXPECT_EQ(warm.imag(), cold.imag());
  EXPECT_GT(std::abs(warm), std::abs(cold));
}

TEST(Coil, FewerTurnsDrawMore) {
  const Coil coil = coil_from_rating({24, 0.23, 0.40});
  const Impedance whole = coil_impedance(coil, {}), half = coil_impedance(coil, {true, 0.5});
  EXPECT_DOUBLE_EQ(half.real(), whole.real() / 2);
  EXPECT_DOUBLE_EQ(half.imag(), whole.imag() / 4);
}

TEST(Supply, GivesItsRatedVoltsAtItsRatedLoad) {
  for (double volt_amps : {20.0, 40.0, 100.0}) {
    const double ohms = source_ohms_from_rating(24, volt_amps),
                 open = open_circuit_volts(24, volt_amps, ohms);
    const double load = 24 * 24 / volt_amps;
    Network network;
    const Node out = network.add_node();
    network.add_source(kReference, out, open, ohms);
    network.add_impedance(out, kReference, load);
    const auto found = network.solve();
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->volts[out].real(), 24, 1e-9);
    EXPECT_NEAR(regulation(open, 24), kTypicalRegulation, 1e-12);
  }
}

}  // namespace
}  // namespace coilward::circuit
