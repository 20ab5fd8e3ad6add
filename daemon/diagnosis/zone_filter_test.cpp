#include "daemon/diagnosis/zone_filter.h"

#include <gtest/gtest.h>

#include "daemon/diagnosis/fake_coil.h"

namespace coilward {
namespace {

// An output of a filter of its own, with nothing from outside.
struct Watched {
  ZoneFilter filter{fake_coil(), 1.4};
  UtcTime day = *parse_rfc3339("2026-07-01T05:00:00Z");

  // One run a day: its level over the normal one, and how well that is known; and its inrush, known half as
  // well.
  void run(double ratio, double lasting_sd, bool taught, double inrush = kNotMeasured) {
    Observation seen;
    seen.index = 0;
    seen.start = seen.seen = day += std::chrono::hours{24};
    seen.final = seen.over = true;
    seen.hold_ratio = ratio;
    seen.hold_lasting_sd = lasting_sd;
    seen.hold_sd = std::hypot(lasting_sd, 0.006);
    seen.zero_sd = 0.012;
    seen.inrush_ratio = inrush;
    seen.inrush_lasting_sd = 2 * lasting_sd;
    seen.inrush_sd = std::hypot(2 * lasting_sd, 0.015);
    filter.add(seen);
    filter.follow([](const Observation&) { return std::nullopt; }, 1);
    if (taught) filter.taught();
  }
  double chance(ZoneClass zone_class) const {
    return filter.hypotheses().chance(filter.followed().belief, zone_class);
  }
  double sound() const { return filter.hypotheses().sound(filter.followed().belief); }
};

// A leak of any size draws more. One that began before the fall, and one that begins with it, are two; as one
// with the moments of both they would fit a level that neither does.
TEST(ZoneFilter, AFallIsNoLeak) {
  Watched zone;
  for (int i = 0; i < 5; ++i) zone.run(1.0, 0.007, true);
  zone.run(0.966, 0.007, false);
  for (int i = 0; i < 4; ++i) zone.run(0.917, 0.007, false);
  EXPECT_LT(zone.chance(ZoneClass::earth_leakage), 0.02);
  EXPECT_LT(zone.chance(ZoneClass::earth_leakage), 0.2 * zone.chance(ZoneClass::high_resistance));
}

// Where nothing was learned yet, readings of nothing agree with each other, but with no coil's level.
TEST(ZoneFilter, NothingIsNobodysNormalDraw) {
  Watched zone;
  for (int i = 0; i < 40; ++i) zone.run(i % 4 == 0 ? 0.004 : 0.0, 0.40, false);
  EXPECT_LT(zone.sound(), 0.01);
}

// A splice that was bad from the first day is in what was learned, so that only its wavering would be left to
// see it by; an output may do that by itself.
TEST(ZoneFilter, WaveringAloneIsNoBadSplice) {
  Watched zone;
  zone.run(1.0, 0.16, true, 0.95);
  for (int i = 0; i < 40; ++i) zone.run(i % 2 ? 1.01 : 0.985, 0.008, zone.sound() > 0.9, i % 2 ? 1.05 : 0.95);
  EXPECT_GT(zone.sound(), 0.95);
  EXPECT_LT(zone.chance(ZoneClass::high_resistance), 0.05);
}

}  // namespace
}  // namespace coilward
