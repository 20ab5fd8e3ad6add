#include "daemon/diagnosis/prediction.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

// Student's t with eight degrees of freedom, density at z for unit scale. Tails heavy enough for what the
// noise model leaves out, light enough that one settled run, forty of its deviations off, is not called
// chance.
constexpr double kFreedom = 8, kAtZero = 0.38670;  // Gamma(9/2) / (sqrt(8 pi) Gamma(4))
double student(double z) {
  const double t = 1 + z * z / kFreedom, square = t * t;
  return kAtZero / (square * square * std::sqrt(t));
}

double normal(double z) { return 0.398942280401 * std::exp(-0.5 * z * z); }

// A broken wire in wet ground or an output's snubber lets a little through: up to a tenth of normal, now and
// then.
double dead_density(double ratio, double zero_sd) {
  const double clean = student(ratio / zero_sd) / zero_sd;
  const double leaky = std::exp(-ratio / 0.06) / 0.06;
  return 0.8 * clean + 0.2 * leaky;
}

// A level against its prediction: its density, and how much of it is news of what lasts.
struct Weighed {
  double density = 0;
  double surprise = 0;  // log ratio, off the slack's mean
  double variance = 0;  // of the run alone, made wider in the tails
};

struct Spread {
  double variance = 0;  // of this run alone
  double zero_sd = 0;
};

Weighed weigh_level(double ratio, const Spread& spread, double expected, const Slack& slack) {
  if (expected < 0.02) return {dead_density(ratio, spread.zero_sd), 0, 0};
  const double floor = std::max(ratio, 0.02);
  // The learned level has the sensor's zero in it; what is left of it grows with the distance from there, so
  // that readings of nothing do not agree with each other on a very small level.
  const double zero = spread.zero_sd * std::max(0.0, std::exp(-slack.mean) / expected - 1);
  const double alone = spread.variance + zero * zero;
  const double relative = std::sqrt(alone + slack.variance);
  const double off = std::log(floor / expected) - slack.mean, z = off / relative;
  // The run's own deviations have heavy tails, what is not known of a level has none: the sum's excess
  // kurtosis goes with the square of the first one's share.
  const double share = alone / (relative * relative), heavy = share * share;
  const double far = heavy * student(z), density = far + (1 - heavy) * normal(z);
  // A run from the tails says little of the level.
  const double tail =
      1 - far / density * (1 - std::min(1.0, (kFreedom + 1) / (kFreedom + off * off / alone)));
  return {density / (relative * floor), off, alone / tail};
}

double square(double x) { return x * x; }

double in_squares(double a, double b) { return std::sqrt(a * a + b * b); }

double level_density(double ratio, double zero_sd, double variance, double expected) {
  return weigh_level(ratio, {variance, zero_sd}, expected, {}).density;
}

// trust: how surely the level was what it seems. besides: variance of what else the surprise may be.
void narrow(Slack& slack, const Weighed& by, double trust, double besides = 0) {
  if (slack.variance <= 0 || by.variance <= 0) return;
  const double gain = trust * slack.variance / (slack.variance + by.variance + besides);
  slack.mean += gain * by.surprise;
  slack.variance *= 1 - gain;
}

double own_variance(double sd, double lasting_sd, double wander) {
  return std::max(0.0, square(sd) - square(lasting_sd)) + square(wander);
}

// What no hypothesis explains leaves all as likely as they were.
constexpr double kLeastDensity = 1e-280;

// How often a plunger that does not seat is the same one as before; own judgement.
constexpr double kStaysUnseated = 0.95;

double weigh_hold(const Observation& seen, const Prediction& expected, Slacks& slacks) {
  Slack& slack = slacks.hold;
  const Spread spread{own_variance(seen.hold_sd, seen.hold_lasting_sd, expected.hold_wander), seen.zero_sd};
  const Weighed it = weigh_level(seen.hold_ratio, spread, expected.hold, slack);
  if (expected.unseated == 0) {
    narrow(slack, it, 1);
    slacks.unseated = kNotMeasured;
    return it.density;
  }
  const bool first = !measured(slacks.unseated);
  const double chance =
      first ? expected.unseated : kStaysUnseated * slacks.unseated + (1 - kStaysUnseated) * expected.unseated;
  if (first) slacks.out = {0, square(expected.unseated_sd)};
  const Slack both{slack.mean + slacks.out.mean, slack.variance + slacks.out.variance};
  const Weighed away = weigh_level(seen.hold_ratio, spread, expected.hold_unseated, both);
  const double seated = (1 - chance) * it.density, out = chance * away.density;
  const double sum = std::max(seated + out, kLeastDensity);
  narrow(slacks.out, away, out / sum, slack.variance);
  narrow(slack, it, seated / sum);
  slacks.unseated = out / sum;
  return sum;
}

// Where less comes back than left, it is the more the higher the level is.
double weigh_returned(const Observation& seen, const Prediction& expected, const Slack& hold, Slack& slack) {
  const double open = expected.returned == 1 ? 0 : expected.hold_tolerance;
  const double own = expected.returned * std::exp(-std::clamp(hold.mean, -open, open));
  const double returned = 1 - seen.own_share + seen.own_share * own;
  const double variance = own_variance(seen.returned_sd, seen.returned_lasting_sd, 0) +
                          square(seen.own_share) * std::min(hold.variance, open * open);
  const Weighed it = weigh_level(seen.returned_ratio, {variance, 0.02}, returned, slack);
  narrow(slack, it, 1);
  return it.density;
}

// One run's fall differs from the next one's by so much of itself (how warm the coil was before, how long it
// ran); own judgement. Now and then it is the mains that moved: such a one says nothing.
constexpr double kFallWanders = 0.15, kFallOutlier = 0.05, kFallOutlierSd = 0.05;
// A coil pulls its plunger in from about four fifths of its rated volts up (common practice); own judgement
// how many fail to below that.
constexpr double kPullsIn = 0.85, kNeverPullsIn = 0.45, kMostUnseated = 0.8;

// The fall is told to within its deviation, not in proportion to itself: a small one may well be seen as a
// rise.
double weigh_fall(const Observation& seen, const Prediction& expected, Slack& slack) {
  // A great fall limits itself: less current warms less.
  const double small = seen.usual_fall * expected.fall * std::exp(slack.mean), usual = small / (1 + small);
  const double slope = small / square(1 + small);
  const double own = square(seen.fall_sd) + square(kFallWanders * usual),
               variance = own + square(slope) * slack.variance;
  const double off = seen.fall - usual;
  const double z = off / std::sqrt(variance);
  const double as_seen = (1 - kFallOutlier) * student(z) / std::sqrt(variance);
  const double wide = std::sqrt(variance + square(kFallOutlierSd));
  const double density = as_seen + kFallOutlier * student(off / wide) / wide;
  const double tail = as_seen / density * std::min(1.0, (kFreedom + 1) / (kFreedom + square(off) / own));
  const double gain = slack.variance * slope / (own / std::max(tail, 1e-6) + square(slope) * slack.variance);
  slack.mean += gain * off;
  slack.variance *= 1 - gain * slope;
  return density;
}

// What a fall adds to the likelihood of a sound zone; where that fits badly, what it could add at most.
// Nearly every hypothesis can have a usual one: to promise each of them the most would hide which sets cannot
// win.
constexpr double kFitsBadly = 10;
double sound_fall(const Observation& seen) {
  Slack slack{0, square(seen.fall_lasting_sd)};
  return weigh_fall(seen, {}, slack);
}
double fall_bound(const Observation& seen) {
  const double sound = sound_fall(seen), most = kAtZero / seen.fall_sd;
  return most > kFitsBadly * sound ? most : sound;
}

// What is seen of a switch-on is now and then another moment of it: such a one says nothing. Own
// judgement.
constexpr double kInrushOutlier = 0.04, kInrushOutlierSd = 0.25;
double weigh_inrush(const Observation& seen, const Prediction& expected, Slack& slack) {
  const Spread near{own_variance(seen.inrush_sd, seen.inrush_lasting_sd, expected.inrush_wander),
                    seen.zero_sd};
  const Spread wide{near.variance + square(kInrushOutlierSd), seen.zero_sd};
  const Weighed it = weigh_level(seen.inrush_ratio, near, expected.inrush, slack);
  const double as_seen = (1 - kInrushOutlier) * it.density;
  const double other = kInrushOutlier * weigh_level(seen.inrush_ratio, wide, expected.inrush, slack).density;
  narrow(slack, it, as_seen / (as_seen + other));
  return as_seen + other;
}

// Of a plunger that did not seat in this run, the fall says nothing.
double weigh_fall_seated(const Observation& seen, const Prediction& expected, Slacks& slacks) {
  if (expected.unseated == 0) return weigh_fall(seen, expected, slacks.fall);
  const double out = measured(slacks.unseated) ? slacks.unseated : expected.unseated;
  Slack fall = slacks.fall;
  const double seated = weigh_fall(seen, expected, fall);
  if (out < 0.5) slacks.fall = fall;
  return (1 - out) * seated + out * sound_fall(seen);
}

double chance_of(bool happened, double chance) { return happened ? chance : 1 - chance; }

double cut_out_chance(const Observation& seen, const Prediction& expected) {
  const double chance = chance_of(seen.cut_out, expected.cut_out);
  if (!seen.cut_out || !measured(seen.before_cut_ratio)) return chance;
  // Sensors of one value a second may miss the second before the cut.
  const bool high = seen.before_cut_ratio > 2.2;
  return chance * chance_of(high, expected.high_before_cut ? 0.8 : 0.02);
}

// A turn that passed without current, known by the programme alone. Sound zones miss one now and then too (by
// hand, by a sensor on one zone, by a change of programme), seldom leaving their time free.
double turn_missed_chance(const Observation& seen, const Prediction& expected) {
  if (expected.hold < 0.02) return 0.95;
  return seen.gap_seen ? 0.002 : 0.005;
}

// Nothing was seen to leave. What is switched on and said to draw cannot explain that; it is weighed by its
// level.
double back_density(const Observation& seen, const Prediction& expected) {
  if (!measured(seen.back_ratio)) return 1;
  if (expected.hold >= 0.02 && !seen.inferred) return 1;
  constexpr double kZero = 0.03, kVariance = 0.15 * 0.15;
  return level_density(seen.back_ratio, kZero, kVariance, expected.hold < 0.02 ? expected.back : 0);
}

}  // namespace

// That heat goes with the square of the current, and how far a warmer coil's current falls for it, holds for
// a coil; iron, a valve under water and a sensor's filter have their say too. Of what the law foretells, in
// logarithms; own judgement.
constexpr double kHeatUnsure = 0.35;
double Prediction::fall_variance() const {
  return square(fall_tolerance) + square(kHeatUnsure * std::log(std::max(fall, 1e-3)));
}

Prediction both(const Prediction& a, const Prediction& b) {
  Prediction p;
  p.hold = a.hold * b.hold;
  p.hold_tolerance = in_squares(a.hold_tolerance, b.hold_tolerance);
  p.hold_wander = in_squares(a.hold_wander, b.hold_wander);
  p.inrush = a.inrush * b.inrush;
  p.inrush_tolerance = in_squares(a.inrush_tolerance, b.inrush_tolerance);
  p.inrush_wander = in_squares(a.inrush_wander, b.inrush_wander);
  p.fall = a.fall * b.fall;
  p.fall_tolerance = in_squares(a.fall_tolerance, b.fall_tolerance);
  p.volts = a.volts * b.volts;
  p.volts_wander = in_squares(a.volts_wander, b.volts_wander);
  p.zone_volts = a.zone_volts * b.zone_volts;
  p.returned = a.returned * b.returned;
  p.back = std::max(a.back * b.hold, b.back * a.hold);
  p.cut_out = 1 - (1 - a.cut_out) * (1 - b.cut_out);
  p.dips = 1 - (1 - a.dips) * (1 - b.dips);
  p.unseated = std::max(a.unseated, b.unseated);
  p.hold_unseated = a.unseated > b.unseated ? a.hold_unseated * b.hold : b.hold_unseated * a.hold;
  p.unseated_sd = std::max(a.unseated_sd, b.unseated_sd);
  p.high_before_cut = a.high_before_cut || b.high_before_cut;
  return p;
}

double chance_unseated(double inrush) {
  return kMostUnseated * std::clamp((kPullsIn - inrush) / (kPullsIn - kNeverPullsIn), 0.0, 1.0);
}

Slack mixed(const Slack& a, double weight_a, const Slack& b, double weight_b) {
  const double share = weight_b / (weight_a + weight_b), apart = b.mean - a.mean;
  return {a.mean + share * apart,
          (1 - share) * a.variance + share * b.variance + share * (1 - share) * apart * apart};
}

Slacks mixed(const Slacks& a, double weight_a, const Slacks& b, double weight_b) {
  const auto mix = [&](const Slack& x, const Slack& y) { return mixed(x, weight_a, y, weight_b); };
  Slacks out{mix(a.hold, b.hold), mix(a.inrush, b.inrush), mix(a.returned, b.returned), mix(a.fall, b.fall)};
  const Slacks& likelier = weight_a > weight_b ? a : b;
  out.unseated = likelier.unseated;
  out.out = likelier.out;
  if (!measured(a.unseated) || !measured(b.unseated)) return out;
  out.unseated = (weight_a * a.unseated + weight_b * b.unseated) / (weight_a + weight_b);
  out.out = mix(a.out, b.out);
  return out;
}

double weigh(const Observation& seen, const Prediction& expected, Slacks& slacks) {
  if (seen.inferred)
    return std::max(turn_missed_chance(seen, expected) * back_density(seen, expected), kLeastDensity);
  double product =
      chance_of(seen.dips, expected.dips) * cut_out_chance(seen, expected) * back_density(seen, expected);
  if (measured(seen.hold_ratio)) product *= weigh_hold(seen, expected, slacks);
  if (measured(seen.inrush_ratio)) product *= weigh_inrush(seen, expected, slacks.inrush);
  if (measured(seen.volts_ratio))
    product *= level_density(seen.volts_ratio, 0.02, square(seen.volts_sd) + square(expected.volts_wander),
                             expected.volts);
  if (measured(seen.zone_volts_ratio))
    product *= level_density(seen.zone_volts_ratio, 0.03, square(0.05) + square(expected.volts_wander),
                             expected.zone_volts);
  if (measured(seen.returned_ratio)) product *= weigh_returned(seen, expected, slacks.hold, slacks.returned);
  if (measured(seen.fall)) product *= weigh_fall_seated(seen, expected, slacks);
  return std::max(product, kLeastDensity);
}

double most_likely(const Observation& seen) {
  // As back_density at its peak.
  const double back = measured(seen.back_ratio) ? 14 : 1;
  if (seen.inferred) return back;
  const auto peak = [](double ratio, double variance, double zero_sd) {
    return std::max(kAtZero / (std::sqrt(std::max(variance, 1e-10)) * std::max(ratio, 0.02)),
                    dead_density(ratio, zero_sd));
  };
  double product = back;
  if (measured(seen.hold_ratio))
    product *= peak(seen.hold_ratio, own_variance(seen.hold_sd, seen.hold_lasting_sd, 0), seen.zero_sd);
  if (measured(seen.inrush_ratio))
    product *= peak(seen.inrush_ratio, own_variance(seen.inrush_sd, seen.inrush_lasting_sd, 0), seen.zero_sd);
  if (measured(seen.fall)) product *= fall_bound(seen);
  if (measured(seen.volts_ratio)) product *= peak(seen.volts_ratio, square(seen.volts_sd), 0.02);
  if (measured(seen.zone_volts_ratio)) product *= peak(seen.zone_volts_ratio, square(0.05), 0.03);
  if (measured(seen.returned_ratio))
    product *= peak(seen.returned_ratio, own_variance(seen.returned_sd, seen.returned_lasting_sd, 0), 0.02);
  return product;
}

}  // namespace coilward
