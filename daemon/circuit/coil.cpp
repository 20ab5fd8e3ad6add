#include "daemon/circuit/coil.h"

#include <algorithm>
#include <cmath>

#include "daemon/circuit/wire.h"

namespace coilward::circuit {
namespace {

double positive_or(double value, double fallback) {
  return std::isfinite(value) && value > 0 ? value : fallback;
}

double reactance_of(double impedance, double resistance) {
  return std::sqrt(impedance * impedance - resistance * resistance);
}

}  // namespace

Coil coil_from_rating(const CoilRating& rating) {
  const double volts = positive_or(rating.volts, 24);
  const double hold = positive_or(rating.hold_amps, kTypicalHoldVoltAmps / volts);
  const double inrush = positive_or(rating.inrush_amps, kTypicalInrushRatio * hold);
  const double seated = volts / hold, open = std::min(volts / inrush, kMostOpenShare * seated);
  const double ohms =
      std::min(positive_or(rating.dc_ohms, kTypicalResistanceShare * seated), kMostResistanceShare * open);
  return {ohms, reactance_of(seated, ohms), reactance_of(open, ohms)};
}

Impedance coil_impedance(const Coil& coil, const CoilState& state) {
  const double reactance = state.seated ? coil.reactance_seated : coil.reactance_open;
  return {coil.ohms20 * state.turns * resistance_ratio(state.celsius), reactance * state.turns * state.turns};
}

}  // namespace coilward::circuit
