// Is what a zone draws what its coil and wire should take? By the rating where it is known, else by the
// trade's range. Thread: any.
#pragma once

#include <string>

#include "daemon/config/config.h"

namespace coilward {

enum class CoilVerdict {
  plausible,
  twice,         // the wire twice through the clamp, or two valves
  half,          // one of two valves cut off, or a sensor's range switch
  thousandfold,  // milliamps taken for amps
  thousandth,    // amps taken for milliamps
  high,
  low,
};

// What it should take, A, through its wire and the source. config has the zone.
double expected_amps(const Config& config, int zone);
// rated: expected is by a maker's figure, so that less is allowed.
CoilVerdict check_coil(double amps, double expected, bool rated);
// One or two sentences, with the figures.
std::string coil_words(CoilVerdict verdict, double amps, double expected, bool rated);

}  // namespace coilward
