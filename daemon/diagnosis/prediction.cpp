#include "daemon/diagnosis/prediction.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

// Student's t with eight degrees of freedom, logarithm of the density at z for unit scale. Tails heavy enough
// for what the noise model leaves out, light enough that one settled run, forty of its deviations off, is not
// called chance.
constexpr double kFreedom = 8, kAtZero = 0.38670;  // Gamma(9/2) / (sqrt(8 pi) Gamma(4))
double log_student(double z) { return std::log(kAtZero) - (kFreedom + 1) / 2 * std::log1p(z * z / kFreedom); }

// A broken wire in wet ground or an output's snubber lets a little through: up to a tenth of normal, now and
// then.
double log_dead(double ratio, double zero_sd) {
  const double clean = std::exp(log_student(ratio / zero_sd)) / zero_sd;
  const double leaky = std::exp(-ratio / 0.06) / 0.06;
  return std::log(0.8 * clean + 0.2 * leaky);
}

double log_level(double ratio, double zero_sd, double sd, double expected, double tolerance) {
  if (expected < 0.02) return log_dead(ratio, zero_sd);
  const double floor = std::max(ratio, 0.02);
  // The learned level has the sensor's zero in it; what is left of it grows with the distance from there.
  const double zero = zero_sd * (1 / expected - 1);
  const double relative = std::sqrt(sd * sd + tolerance * tolerance + zero * zero);
  return log_student(std::log(floor / expected) / relative) - std::log(relative * floor);
}

// What is seen of a switch-on is now and then another moment of it: such a one says nothing. Own
// judgement.
constexpr double kInrushOutlier = 0.04, kInrushOutlierSd = 0.25;
double log_inrush(const Observation& seen, const Prediction& expected) {
  const auto within = [&](double sd) {
    return std::exp(
        log_level(seen.inrush_ratio, seen.zero_sd, sd, expected.inrush, expected.inrush_tolerance));
  };
  const double wide = std::hypot(seen.inrush_sd, kInrushOutlierSd);
  return std::log((1 - kInrushOutlier) * within(seen.inrush_sd) + kInrushOutlier * within(wide));
}

double log_chance(bool happened, double chance) { return std::log(happened ? chance : 1 - chance); }

double log_cut_out(const Observation& seen, const Prediction& expected) {
  double sum = log_chance(seen.cut_out, expected.cut_out);
  if (!seen.cut_out || !measured(seen.before_cut_ratio)) return sum;
  // Sensors of one value a second may miss the second before the cut.
  const bool high = seen.before_cut_ratio > 2.2;
  return sum + log_chance(high, expected.high_before_cut ? 0.8 : 0.02);
}

// A turn that passed without current, known by the programme alone. Sound zones miss one now and then too (by
// hand, by a sensor on one zone, by a change of programme), seldom leaving their time free.
double log_turn_missed(const Observation& seen, const Prediction& expected) {
  if (expected.hold < 0.02) return std::log(0.95);
  return std::log(seen.gap_seen ? 0.002 : 0.02);
}

}  // namespace

Prediction both(const Prediction& a, const Prediction& b) {
  Prediction p;
  p.hold = a.hold * b.hold;
  p.hold_tolerance = std::hypot(a.hold_tolerance, b.hold_tolerance);
  p.inrush = a.inrush * b.inrush;
  p.inrush_tolerance = std::hypot(a.inrush_tolerance, b.inrush_tolerance);
  p.volts = a.volts * b.volts;
  p.volts_tolerance = std::hypot(a.volts_tolerance, b.volts_tolerance);
  p.zone_volts = a.zone_volts * b.zone_volts;
  p.returned = a.returned * b.returned;
  p.cut_out = 1 - (1 - a.cut_out) * (1 - b.cut_out);
  p.dips = 1 - (1 - a.dips) * (1 - b.dips);
  p.high_before_cut = a.high_before_cut || b.high_before_cut;
  return p;
}

double log_likelihood(const Observation& seen, const Prediction& expected) {
  if (seen.inferred) return log_turn_missed(seen, expected);
  double sum = log_chance(seen.dips, expected.dips) + log_cut_out(seen, expected);
  if (measured(seen.hold_ratio))
    sum += log_level(seen.hold_ratio, seen.zero_sd, seen.hold_sd, expected.hold, expected.hold_tolerance);
  if (measured(seen.inrush_ratio)) sum += log_inrush(seen, expected);
  if (measured(seen.volts_ratio))
    sum += log_level(seen.volts_ratio, 0.02, seen.volts_sd, expected.volts, expected.volts_tolerance);
  if (measured(seen.zone_volts_ratio))
    sum += log_level(seen.zone_volts_ratio, 0.03, 0.05, expected.zone_volts, expected.volts_tolerance);
  if (measured(seen.returned_ratio))
    sum += log_level(seen.returned_ratio, 0.02, seen.returned_sd, expected.returned, 0.01);
  return sum;
}

}  // namespace coilward
