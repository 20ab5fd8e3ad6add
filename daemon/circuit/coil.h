// The solenoid of a valve as the wires see it: a resistance, and a reactance that is larger once the plunger
// has seated in it and closed the iron. Thread: any; no state.
#pragma once

#include <limits>

#include "daemon/circuit/phasor.h"

namespace coilward::circuit {

// One solenoid, healthy. Ohms; reactances at the site's mains frequency.
struct Coil {
  double ohms20 = 0;            // DC resistance of the winding at 20 Cel
  double reactance_seated = 0;  // plunger pulled in: the holding current
  double reactance_open = 0;    // plunger out: the inrush current; below reactance_seated
};

// What a maker prints of one solenoid, at rated volts, straight across it. NaN: not known.
struct CoilRating {
  double volts = 24;
  double hold_amps = std::numeric_limits<double>::quiet_NaN();
  double inrush_amps = std::numeric_limits<double>::quiet_NaN();
  double dc_ohms = std::numeric_limits<double>::quiet_NaN();  // 20 Cel
};

// 24 VAC valve coils, common practice: 0.2-0.3 A holding, 0.3-0.5 A inrush, 20-60 ohm DC. Plausibility and
// priors only, never an alarm limit. With the figures below 24 V gives 0.24 A, 0.384 A and 33 ohm.
inline constexpr double kTypicalHoldVoltAmps = 5.76;     // holding volts times amps
inline constexpr double kTypicalInrushRatio = 1.6;       // inrush over holding current
inline constexpr double kTypicalResistanceShare = 0.33;  // DC ohms over seated impedance
// What a figure may be at most, so that a coil always has a plunger that matters.
inline constexpr double kMostResistanceShare = 0.9;  // DC ohms over open impedance
inline constexpr double kMostOpenShare = 0.95;       // open over seated impedance

// A figure that is not known, not above zero, or impossible beside the others is replaced: first the inrush
// current (an inrush not above holding becomes the least that is), then the resistance.
Coil coil_from_rating(const CoilRating& rating);

// How a coil may differ from the healthy one.
struct CoilState {
  bool seated = true;
  double turns = 1;  // share of the turns left, above 0; resistance goes with it, reactance with its square
  double celsius = 20;  // of its copper
};
Impedance coil_impedance(const Coil& coil, const CoilState& state);

}  // namespace coilward::circuit
