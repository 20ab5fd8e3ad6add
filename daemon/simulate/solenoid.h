// One valve's solenoid as it really is: copper, a magnetic circuit whose gap the plunger closes, and the
// plunger.
#pragma once

#include "daemon/simulate/chance.h"

namespace coilward::simulate {

struct Solenoid {
  double ohms_20 = 30;          // copper at 20 Celsius
  double henries_seated = 0.2;  // at seated_mm
  double seated_mm = 0.25;      // what a seated plunger leaves open (residual gap, dirt)
  double open_mm = 3;           // at rest
  double loss_ohms = 1000;      // core and shading ring, parallel to the inductance
  double spring_newtons = 2;    // holding the plunger open, at rest
  double spring_rise = 0.3;     // of it more when seated
  double mass_kg = 0.02;        // plunger with what it drags along
  double kelvin_per_watt = 6;   // coil's copper over its surroundings, at rest
  double warm_up_s = 300;       // thermal time constant
};

struct SolenoidRating {
  double hold_amps = 0.23;  // RMS at `volts` on the coil's own terminals, copper at 20 Celsius
  double inrush_amps = 0.40;
  double volts = 24;
  double hertz = 60;
};

// Henries at a gap. The shape is leakage plus a gap's reluctance; it follows the finite-element table of a
// plunger solenoid in the Modelica Standard Library (SolenoidActuator, ComparisonQuasiStatic) within 3 %.
double inductance(const Solenoid& solenoid, double gap_mm);
// Newtons that pull the plunger in, for a mean square current.
double pull_newtons(const Solenoid& solenoid, double gap_mm, double square_amps);

// A solenoid that has this rating; what a rating leaves open (travel, losses, spring, warmth) is drawn by
// chance.
Solenoid make_solenoid(const SolenoidRating& rating, Chance& chance);

// RMS amps at rated volts and 20 Celsius, the plunger held at a gap.
double rated_amps(const Solenoid& solenoid, double gap_mm, double volts, double hertz);

}  // namespace coilward::simulate
