#include "daemon/commission/coil_check.h"

#include <fmt/format.h>

#include <complex>

#include "daemon/draw/zone_electrics.h"

namespace coilward {
namespace {

// Allowed, as shares of what is expected. Coils of one make differ by 10 %, a 24 volt transformer gives 24 to
// 28 (common practice); without a rating the trade's coils hold at 0.2 to 0.3 A, and odd ones beside that.
constexpr double kRatedLow = 0.75, kRatedHigh = 1.35, kUnratedLow = 0.60, kUnratedHigh = 1.60;
// About twice and about half; own judgement.
constexpr double kTwiceHigh = 2.6, kHalfLow = 0.38;
// A transformer gives so much over its rating when little is on (common practice: 24 gives 24 to 28).
constexpr double kOverRating = 1.06;

bool within(double ratio, bool rated) {
  return ratio >= (rated ? kRatedLow : kUnratedLow) && ratio <= (rated ? kRatedHigh : kUnratedHigh);
}

}  // namespace

double expected_amps(const Config& config, int zone) {
  const SiteElectrics site = site_electrics(config);
  const int index = site.index_of(zone);
  if (index < 0) return kNotMeasured;
  const auto impedance = site.zones[static_cast<std::size_t>(index)].hold_impedance() + site.source_ohms;
  return kOverRating * site.rated_volts / std::abs(impedance);
}

CoilVerdict check_coil(double amps, double expected, bool rated) {
  const double ratio = amps / expected;
  if (within(ratio, rated)) return CoilVerdict::plausible;
  if (within(ratio / 1000, rated)) return CoilVerdict::thousandfold;
  if (within(ratio * 1000, rated)) return CoilVerdict::thousandth;
  if (ratio > 1) return ratio <= kTwiceHigh ? CoilVerdict::twice : CoilVerdict::high;
  return ratio >= kHalfLow ? CoilVerdict::half : CoilVerdict::low;
}

std::string coil_words(CoilVerdict verdict, double amps, double expected, bool rated) {
  const std::string seen = fmt::format("{:.4g} A; {} it should be about {:.3f} A", amps,
                                       rated ? "by its rating and wire" : "as coils usually are", expected);
  switch (verdict) {
    case CoilVerdict::plausible:
      return seen + ". Plausible.";
    case CoilVerdict::twice:
      return seen +
             ". About twice as much: does the wire go through the clamp twice, or does it open two valves?";
    case CoilVerdict::half:
      return seen + ". About half: is one of two valves cut off, or is the sensor's range set wrongly?";
    case CoilVerdict::thousandfold:
      return seen + ". A thousand times too much: the sensor gives milliamps.";
    case CoilVerdict::thousandth:
      return seen + ". A thousandth: the sensor gives amps where milliamps were said.";
    case CoilVerdict::high:
      return seen + ". Too much: turns of the coil are shorted, or it is another coil than was said.";
    case CoilVerdict::low:
      return seen + ". Too little: a bad splice, a long wire that was not said, or another coil.";
  }
  return seen;
}

}  // namespace coilward
