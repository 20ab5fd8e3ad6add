#include "daemon/circuit/site_circuit.h"

#include <gtest/gtest.h>

#include <cmath>

#include "daemon/circuit/supply.h"
#include "daemon/circuit/wire.h"

namespace coilward::circuit {
namespace {

// Four zones on a common 0 - A - B - C: zone 0 at A, 1 and 2 at B, 3 (two valves) at C.
SiteLayout garden() {
  const double ohms = source_ohms_from_rating(24, 40), metre14 = ohms_per_metre(awg_square_mm(14)),
               metre18 = ohms_per_metre(awg_square_mm(18));
  const Coil coil = coil_from_rating({24, 0.23, 0.40});
  return {open_circuit_volts(24, 40, ohms),
          ohms,
          {{{-1, 0, 1, 2}, {0, 18 * metre14, 31 * metre14, 40 * metre14}}},
          {{0, 1, 18 * metre18, coil, 1},
           {0, 2, 49 * metre18, coil, 1},
           {0, 2, 49 * metre18, coil, 1},
           {0, 3, 89 * metre18, coil, 2}}};
}

Solution one_on(const SiteLayout& site, int zone, const SiteFaults& faults) {
  return solve(site, std::vector{zone}, faults);
}

SiteFaults with(int zone, const ZoneFault& fault) {
  SiteFaults faults;
  faults.zones.emplace_back(zone, fault);
  return faults;
}

SiteFaults with(const CommonFault& fault) {
  SiteFaults faults;
  faults.commons.push_back(fault);
  return faults;
}

SiteFaults with(const Crossing& crossing) {
  SiteFaults faults;
  faults.crossings.push_back(crossing);
  return faults;
}

TEST(SiteCircuit, AlonePlainAndByHand) {
  const SiteLayout site = garden();
  const Coil& coil = site.zones[1].coil;
  const double copper = site.zones[1].wire_ohms + site.commons[0].ohms[1] + site.commons[0].ohms[2];
  const double impedance = std::hypot(site.source_ohms.real() + copper + coil.ohms20, coil.reactance_seated);
  EXPECT_NEAR(zone_amps_alone(site, 1, {}), site.source_volts / impedance, 1e-12);
  EXPECT_NEAR(common_ohms(site, 1), site.commons[0].ohms[1] + site.commons[0].ohms[2], 1e-12);
  EXPECT_NEAR(zone_amps_alone(site, 1, {}, 0, 0.8), 0.8 * site.source_volts / impedance, 1e-12);
}

TEST(SiteCircuit, ZonesTogetherDrawLessThanAlone) {
  const SiteLayout site = garden();
  const Solution all = solve(site, std::vector{3, 0, 2, 1}, {});
  for (int zone = 0; zone < 4; ++zone) EXPECT_LT(all.zone_amp(zone), zone_amps_alone(site, zone, {}));
  // The two at one box with the same wire are the same.
  EXPECT_NEAR(all.zone_amp(1), all.zone_amp(2), 1e-12);
  Phasor sum = 0;
  for (const Phasor& zone : all.zone_amps) sum += zone;
  EXPECT_LT(std::abs(sum - all.common_amps[0]), 1e-12);
  EXPECT_LT(std::abs(all.zone_volts - (site.source_volts - sum * site.source_ohms)), 1e-12);
  EXPECT_EQ(all.earth_amps, 0.0);
}

TEST(SiteCircuit, AnOutputThatIsOffDrawsNothing) {
  const Solution found = one_on(garden(), 2, {});
  EXPECT_EQ(found.zone_amps[0], 0.0);
  EXPECT_EQ(found.zone_amps[1], 0.0);
  EXPECT_GT(found.zone_amp(2), 0.2);
  const Solution none = solve(garden(), {}, {});
  EXPECT_EQ(none.zone_amps[2], 0.0);
  EXPECT_NEAR(none.zone_volts.real(), garden().source_volts, 1e-12);
}

TEST(SiteCircuit, TouchingWiresDrawTheSumOfBothFromEitherOutput) {
  const SiteLayout site = garden();
  const double apart = zone_amps_alone(site, 1, {}) + zone_amps_alone(site, 2, {});
  const SiteFaults crossed = with(Crossing{1, 2, 0.05});
  const Solution first = one_on(site, 1, crossed), second = one_on(site, 2, crossed);
  EXPECT_NEAR(first.zone_amp(1), second.zone_amp(2), 1e-9);
  EXPECT_NEAR(first.zone_amp(1), apart, 0.06 * apart);  // both on one wire and one source: a little less
  EXPECT_LT(first.zone_amp(1), apart);
  EXPECT_EQ(first.zone_amps[2], 0.0);            // its output is off ...
  EXPECT_GT(std::abs(first.coil_amps[2]), 0.2);  // ... its valve opens
  EXPECT_GT(std::abs(first.coil_volts[2]), 20);
  // With both outputs on nothing new happens: both wires have the same volts.
  const Solution both = solve(site, std::vector{1, 2}, crossed), sound = solve(site, std::vector{1, 2}, {});
  EXPECT_NEAR(both.zone_amp(1), sound.zone_amp(1), 1e-9);
}

TEST(SiteCircuit, ALooseTouchPowersTheOtherCoilLess) {
  const SiteLayout site = garden();
  double before = 1;
  for (double ohms : {0.0, 5.0, 50.0, 500.0}) {
    const Solution found = one_on(site, 1, with(Crossing{1, 2, ohms}));
    EXPECT_LT(std::abs(found.coil_amps[2]), before);
    before = std::abs(found.coil_amps[2]);
  }
  EXPECT_NEAR(one_on(site, 1, with(Crossing{1, 2, kNoPath})).zone_amp(1), zone_amps_alone(site, 1, {}),
              1e-12);
}

TEST(SiteCircuit, LeakageDoesNotComeBackOnTheCommon) {
  const SiteLayout site = garden();
  const ZoneFault leaking{.leak_ohms = 200};
  const AloneSolution alone = solve_alone(site, 1, leaking);
  const Solution found = one_on(site, 1, with(1, leaking));
  EXPECT_GT(std::abs(alone.zone_amps), zone_amps_alone(site, 1, {}));
  EXPECT_LT(std::abs(alone.common_amps), std::abs(alone.zone_amps));
  EXPECT_LT(std::abs(found.earth_amps - (alone.zone_amps - alone.common_amps)), 1e-12);
  EXPECT_NEAR(std::abs(found.earth_amps), 25.0 / 200, 0.02);
  // Current to earth is in phase with the volts: it lags less than the coil's.
  EXPECT_GT(std::arg(alone.zone_amps), std::arg(alone.common_amps));
}

TEST(SiteCircuit, ALeakKeepsFlowingPastABrokenSplice) {
  const ZoneFault cut{.open = true, .leak_ohms = 400};
  const AloneSolution alone = solve_alone(garden(), 1, cut);
  EXPECT_NEAR(std::abs(alone.zone_amps), 26.4 / 400, 0.002);
  EXPECT_EQ(alone.common_amps, 0.0);
  EXPECT_EQ(alone.coil_volts, 0.0);
  EXPECT_NEAR(one_on(garden(), 1, with(1, cut)).zone_amp(1), std::abs(alone.zone_amps), 1e-12);
}

TEST(SiteCircuit, ABrokenCommonStopsTheZonesBeyondAndNoOthers) {
  const SiteLayout site = garden();
  const SiteFaults broken = with(CommonFault{0, 2, kNoPath});  // between A and B
  EXPECT_NEAR(one_on(site, 0, broken).zone_amp(0), zone_amps_alone(site, 0, {}), 1e-12);
  for (int zone : {1, 2, 3}) EXPECT_LT(one_on(site, zone, broken).zone_amp(zone), 1e-12);
  const Solution all = solve(site, std::vector{0, 1, 2, 3}, broken);
  EXPECT_NEAR(all.zone_amp(0), zone_amps_alone(site, 0, {}), 1e-12);
  EXPECT_LT(all.zone_amp(3), 1e-12);
  EXPECT_EQ(zone_amps_alone(site, 1, {}, kNoPath), 0.0);
}

// Beyond a broken common a coil is not dead if another zone's wire leaks: the current goes through both
// coils.
TEST(SiteCircuit, BeyondABreakCurrentFindsTheLeak) {
  const SiteLayout site = garden();
  SiteFaults faults = with(CommonFault{0, 2, kNoPath});
  faults.zones.emplace_back(2, ZoneFault{.leak_ohms = 100});
  const Solution found = one_on(site, 1, faults);
  EXPECT_GT(found.zone_amp(1), 0.05);
  EXPECT_LT(found.zone_amp(1), zone_amps_alone(site, 1, {}));
  EXPECT_LT(std::abs(found.earth_amps - found.zone_amps[1]), 1e-12);
  EXPECT_LT(std::abs(found.common_amps[0]), 1e-12);
}

TEST(SiteCircuit, OhmsInTheCommonAreSeenByEveryZoneBeyond) {
  const SiteLayout site = garden();
  const SiteFaults corroded = with(CommonFault{0, 2, 12});
  EXPECT_NEAR(one_on(site, 0, corroded).zone_amp(0), zone_amps_alone(site, 0, {}), 1e-12);
  for (int zone : {1, 2, 3})
    EXPECT_NEAR(one_on(site, zone, corroded).zone_amp(zone), zone_amps_alone(site, zone, {}, 12), 1e-12);
  // One zone alone cannot tell it from the same ohms in its own splice.
  EXPECT_NEAR(zone_amps_alone(site, 1, {.splice_ohms = 12}), zone_amps_alone(site, 1, {}, 12), 1e-12);
  // Two zones on together can: each has the other's current in it too.
  const double alone = zone_amps_alone(site, 1, {}, 12);
  EXPECT_LT(solve(site, std::vector{1, 2}, corroded).zone_amp(1), 0.97 * alone);
}

TEST(SiteCircuit, EachFaultMovesTheCurrentItsWay) {
  const SiteLayout site = garden();
  const double healthy = zone_amps_alone(site, 3, {});
  EXPECT_GT(zone_amps_alone(site, 3, {.plungers_out = 1}), 1.15 * healthy);
  EXPECT_GT(zone_amps_alone(site, 3, {.plungers_out = 2}), zone_amps_alone(site, 3, {.plungers_out = 1}));
  EXPECT_NEAR(zone_amps_alone(site, 3, {.valves_lost = 1}) / healthy, 0.53, 0.04);
  EXPECT_EQ(zone_amps_alone(site, 3, {.valves_lost = 2}), 0.0);
  EXPECT_EQ(zone_amps_alone(site, 3, {.open = true}), 0.0);
  EXPECT_GT(zone_amps_alone(site, 3, {.turns = 0.8}), 1.05 * healthy);
  EXPECT_GT(zone_amps_alone(site, 3, {.coil_short_ohms = 0}), 3.0);
  EXPECT_LT(zone_amps_alone(site, 3, {.coil_celsius = 80}), healthy);
  EXPECT_LT(zone_amps_alone(site, 3, {}, 0, 1, 45), healthy);
}

// More of a fault moves the current further, all the way.
TEST(SiteCircuit, SizesAreMonotone) {
  const SiteLayout site = garden();
  double splice = 1, turns = 0, leak = 1e9, shorted = 1e9, common = 1;
  for (int i = 0; i < 60; ++i) {
    const double size = std::pow(1.15, i);  // 1 .. 3800
    const auto falls = [](double& before, double now) { return std::exchange(before, now) > now; };
    EXPECT_TRUE(falls(splice, zone_amps_alone(site, 1, {.splice_ohms = size})));
    EXPECT_TRUE(falls(common, zone_amps_alone(site, 1, {}, size)));
    EXPECT_TRUE(falls(leak, zone_amps_alone(site, 1, {.leak_ohms = size})));
    EXPECT_TRUE(falls(shorted, zone_amps_alone(site, 1, {.coil_short_ohms = size})));
    const double more = zone_amps_alone(site, 1, {.turns = 1 - 0.015 * i});
    EXPECT_GT(more, std::exchange(turns, more));
  }
}

TEST(SiteCircuit, ADeadShortHasAnAnswer) {  // no copper, no source resistance, every wire touching
  SiteLayout site = garden();
  site.source_ohms = 0;
  for (auto& zone : site.zones) zone.wire_ohms = 0;
  for (auto& ohms : site.commons[0].ohms) ohms = 0;
  SiteFaults faults = with(0, {.coil_short_ohms = 0});
  for (int zone : {1, 2, 3}) faults.crossings.push_back({0, zone, 0});
  const Solution found = solve(site, std::vector{0, 1, 2, 3}, faults);
  EXPECT_TRUE(std::isfinite(found.zone_amp(0)));
  EXPECT_GT(std::abs(found.common_amps[0]), 1e6);
  EXPECT_TRUE(std::isfinite(zone_amps_alone(site, 0, {.coil_short_ohms = 0})));
  EXPECT_TRUE(std::isnan(one_on(site, 0, with(0, {.splice_ohms = std::nan("")})).zone_amp(0)));
}

}  // namespace
}  // namespace coilward::circuit
