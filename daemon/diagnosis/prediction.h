// What a hypothesis says an observation should be, and how likely an observation then is.
#pragma once

#include "daemon/diagnosis/observation.h"

namespace coilward {

// Ratios to the healthy forecast. A tolerance is the relative standard deviation of the prediction itself:
// sizes come in steps, and the coil's resistance is only roughly known.
struct Prediction {
  double hold = 1, hold_tolerance = 0;
  double inrush = 1, inrush_tolerance = 0;
  double volts = 1, volts_tolerance = 0;
  double zone_volts = 1;
  double returned = 1;           // share of the current that comes back on the common
  double cut_out = 2e-4;         // chance that the current stops early
  double dips = 2e-3;            // chance of flicker
  bool high_before_cut = false;  // a cut-out follows a high current, not a normal one
};

// Both act at once: ratios multiply, tolerances add in squares, chances are those of either.
Prediction both(const Prediction& a, const Prediction& b);

// Natural logarithm of the density of the observation. Features that were not measured say nothing.
double log_likelihood(const Observation& seen, const Prediction& expected);

}  // namespace coilward
