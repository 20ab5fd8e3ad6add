#include "daemon/simulate/switch_on.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <numbers>

#include "tests/support/temporary_directory.h"

namespace coilward::simulate {
namespace {

Branch branch_of(const Solenoid& coil, double wire_ohms) {
  Branch it;
  it.output = 1;
  it.valve = 0;
  it.coil = &coil;
  it.coil_ohms = coil.ohms_20;
  it.loss_ohms = coil.loss_ohms;
  it.gap_mm = coil.open_mm;
  it.travel_mm = coil.seated_mm;
  it.fresh = true;
  it.path = {{piece_key(PieceKind::source), 1.1}, {piece_key(PieceKind::zone_wire, 1), wire_ohms}};
  return it;
}

SwitchOn follow(std::vector<Branch>& branches, double volts, double hertz = 60, double phase = 0.3) {
  const std::vector<Probe> probes{{0}};
  SwitchOnPlan plan;
  plan.volts = volts;
  plan.hertz = hertz;
  plan.phase = phase;
  plan.branches = branches;
  plan.probes = probes;
  return follow_switch_on(plan);
}

// Worked by hand, apart from the code: |E| / |Rs + Rw + Rc + jwL (loss left out)|.
TEST(Steady, OneZoneIsOhmsLaw) {
  Solenoid coil;
  coil.ohms_20 = 40;
  coil.henries_seated = 0.2;
  coil.loss_ohms = 1e12;
  Branch branch = branch_of(coil, 3.9);
  branch.gap_mm = coil.seated_mm;
  const std::vector<Branch> branches{branch};
  const auto amps = steady_currents(26, 60, branches, shared_ohms(branches));
  EXPECT_NEAR(std::abs(amps[0]), 26 / std::sqrt(45.0 * 45.0 + 75.398223686 * 75.398223686), 1e-9);
  EXPECT_NEAR(std::arg(amps[0]), -std::atan(75.398223686 / 45.0), 1e-9);
}

TEST(Steady, SharedWireLowersBoth) {
  const Solenoid coil;
  Branch one = branch_of(coil, 2), two = branch_of(coil, 2);
  two.path[1].key = piece_key(PieceKind::zone_wire, 2);
  const std::vector<Branch> alone{one}, both{one, two};
  const double before = std::abs(steady_currents(26, 60, alone, shared_ohms(alone))[0]);
  const auto after = steady_currents(26, 60, both, shared_ohms(both));
  EXPECT_LT(std::abs(after[0]), before);
  EXPECT_NEAR(std::abs(after[0]), std::abs(after[1]), 1e-12);
  // Two equal loads are one with twice the shared resistance.
  const std::vector<Branch> doubled{[&] {
    Branch it = one;
    it.path[0].ohms = 2.2;
    return it;
  }()};
  EXPECT_NEAR(std::abs(after[0]), std::abs(steady_currents(26, 60, doubled, shared_ohms(doubled))[0]), 1e-12);
}

TEST(SwitchOn, InrushStandsAboveHoldAndThePlungerSeats) {
  Chance chance(5);
  int in_usual_time = 0;
  for (int i = 0; i < 200; ++i) {
    SolenoidRating rating;
    rating.hold_amps = chance.between(0.15, 0.5);
    rating.inrush_amps = rating.hold_amps * chance.between(1.3, 2.2);
    rating.hertz = chance.happens(0.5) ? 50 : 60;
    const Solenoid coil = make_solenoid(rating, chance);
    std::vector<Branch> branches{branch_of(coil, 3)};
    const SwitchOn it = follow(branches, 26, rating.hertz, chance.between(0, 6.28));
    const auto& amps = it.probe_amps[0];
    ASSERT_FALSE(std::isnan(it.seated_ms[0])) << i;
    if (it.seated_ms[0] > 15 && it.seated_ms[0] < 100) ++in_usual_time;
    const double peak = *std::max_element(amps.begin(), amps.begin() + 12);
    EXPECT_GT(peak, 1.1 * amps.back()) << i;
    EXPECT_LT(peak, 3.0 * amps.back()) << i;
  }
  EXPECT_GT(in_usual_time, 190);
}

TEST(SwitchOn, EndsInTheSteadyState) {
  const Solenoid coil = [] {
    Chance chance(3);
    return make_solenoid({}, chance);
  }();
  std::vector<Branch> branches{branch_of(coil, 3)};
  const SwitchOn it = follow(branches, 26);
  branches[0].gap_mm = it.gap_mm[0];
  EXPECT_DOUBLE_EQ(it.gap_mm[0], coil.seated_mm);
  const double steady = std::abs(steady_currents(26, 60, branches, shared_ohms(branches))[0]);
  EXPECT_NEAR(it.probe_amps[0].back() / steady, 1, 0.003);
}

TEST(SwitchOn, ABlockedPlungerStaysAtInrush) {
  Chance chance(3);
  const Solenoid coil = make_solenoid({}, chance);
  std::vector<Branch> branches{branch_of(coil, 3)};
  branches[0].travel_mm = coil.open_mm;
  const SwitchOn it = follow(branches, 26);
  EXPECT_TRUE(std::isnan(it.seated_ms[0]));
  const double steady = std::abs(steady_currents(26, 60, branches, shared_ohms(branches))[0]);
  EXPECT_NEAR(it.probe_amps[0].back() / steady, 1, 0.003);
}

TEST(SwitchOn, AWeakSupplyDoesNotLiftThePlunger) {
  Chance chance(3);
  const Solenoid coil = make_solenoid({}, chance);
  std::vector<Branch> branches{branch_of(coil, 3)};
  EXPECT_TRUE(std::isnan(follow(branches, 10).seated_ms[0]));
}

TEST(SwitchOn, ACoilThatWasOnIsHardlyDisturbed) {
  Chance chance(3);
  const Solenoid coil = make_solenoid({}, chance);
  Branch before = branch_of(coil, 3);
  before.fresh = false;
  before.gap_mm = coil.seated_mm;
  Branch fresh = branch_of(coil, 4);
  fresh.path[1].key = piece_key(PieceKind::zone_wire, 2);
  std::vector<Branch> branches{before, fresh};
  const SwitchOn it = follow(branches, 26);
  const double first = it.probe_amps[0].front(), last = it.probe_amps[0].back();
  EXPECT_NEAR(first / last, 1, 0.05);
}

// A coil whose plunger cannot move is a fixed inductance: a live circuit simulator must agree on every half
// cycle.
TEST(SwitchOn, AgreesWithACircuitSimulator) {
  if (std::system("command -v ngspice >/dev/null 2>&1") != 0) GTEST_SKIP() << "ngspice is not installed";
  Solenoid coil;
  coil.ohms_20 = 31;
  coil.henries_seated = 0.17;
  coil.loss_ohms = 900;
  std::vector<Branch> branches{branch_of(coil, 2.5)};
  branches[0].gap_mm = branches[0].travel_mm = coil.seated_mm;
  const double phase = 0.7;
  const SwitchOn mine = follow(branches, 25, 60, phase);

  const TemporaryDirectory directory;
  const std::string& folder = directory.path();
  std::ofstream(folder + "/a.cir")
      << "* switch-on of a coil\n"
      << "V1 s 0 SIN(0 " << 25 * std::numbers::sqrt2 << " 60 0 0 " << phase * 180 / std::numbers::pi + 90
      << ")\n"
      << "R1 s a " << 1.1 + 2.5 << "\nR2 a b 31\nL1 b 0 0.17 IC=0\nR3 b 0 900\n"
      << ".tran 20u 0.2 0 20u UIC\n.control\nset wr_vecnames\nrun\nlinearize i(V1)\n"
      << "wrdata " << folder << "/out.txt i(V1)\nquit\n.endc\n.end\n";
  ASSERT_EQ(std::system(("ngspice -b " + folder + "/a.cir >" + folder + "/log 2>&1").c_str()), 0);
  std::ifstream out(folder + "/out.txt");
  std::string header;
  std::getline(out, header);
  std::vector<double> squares(24), counts(24);
  for (double t = 0, amps = 0; out >> t >> amps;) {
    const auto half = static_cast<std::size_t>(t * 120);
    if (half < squares.size()) squares[half] += amps * amps, counts[half] += 1;
  }
  ASSERT_GT(counts[20], 300);
  for (std::size_t half = 0; half < 20; ++half) {
    const double theirs = std::sqrt(squares[half] / counts[half]);
    EXPECT_NEAR(mine.probe_amps[0][half] / theirs, 1, 0.02) << "half cycle " << half;
  }
}

}  // namespace
}  // namespace coilward::simulate
