// What a hypothesis says an observation should be, and how likely an observation then is.
#pragma once

#include "daemon/diagnosis/observation.h"

namespace coilward {

// Ratios to the healthy forecast. What a hypothesis leaves open is of two kinds, both relative standard
// deviations: a tolerance is the same in every run (a fault's size comes in steps, the coil is only roughly
// known), so the first run that is seen uses it up; a wander is drawn anew by each run.
struct Prediction {
  double hold = 1, hold_tolerance = 0, hold_wander = 0;
  // For want of volts a plunger may not seat: the chance of it in one run, and the holding level then.
  double unseated = 0, hold_unseated = 1, unseated_sd = 0;
  double inrush = 1, inrush_tolerance = 0, inrush_wander = 0;
  // Of the warm-up's fall: factor, and standard deviation of its logarithm (a tolerance).
  double fall = 1, fall_tolerance = 0;
  // That, and how far the law that foretells the factor is to be trusted.
  double fall_variance() const;
  double volts = 1, volts_wander = 0;
  double zone_volts = 1;
  double returned = 1;    // share of the current that comes back on the common
  double back = 0;        // where none is seen to leave: what comes back all the same, ratio to the forecast
  double cut_out = 2e-4;  // chance that the current stops early
  double dips = 2e-3;     // chance of flicker
  bool high_before_cut = false;  // a cut-out follows a high current, not a normal one
};

// How likely a plunger does not seat with so much of its inrush.
double chance_unseated(double inrush);

// Both act at once: ratios multiply, tolerances and wanders add in squares, chances are those of either.
Prediction both(const Prediction& a, const Prediction& b);

// How far a level lies from its prediction in every run alike, as far as is known: mean and variance of the
// logarithm.
struct Slack {
  double mean = 0, variance = 0;
};
// One weighed against another: moments of the mixture.
Slack mixed(const Slack& a, double weight_a, const Slack& b, double weight_b);

struct Slacks {
  Slack hold, inrush, returned, fall;
  // Chance that the plunger did not seat in the latest run; not measured: nothing kept it from seating. A
  // coil that seats at few volts does so the next time too.
  double unseated = kNotMeasured;
  Slack out;  // of the level then, beyond that of the seated one
};
Slacks mixed(const Slacks& a, double weight_a, const Slacks& b, double weight_b);

// The density of the observation, given the slacks, which then know it: what was left open in this run is not
// left open in the next. Features that were not measured say nothing.
double weigh(const Observation& seen, const Prediction& expected, Slacks& slacks);
// No hypothesis makes it more likely than this.
double most_likely(const Observation& seen);

}  // namespace coilward
