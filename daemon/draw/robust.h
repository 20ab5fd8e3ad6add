// What the models of this stage share: how a noise scale is learned, how much an outlier counts, and copper.
#pragma once

#include <algorithm>

namespace coilward {

// Copper, IEC 60028: 0.393 % per kelvin at 20 Cel.
inline constexpr double kCopperPerKelvin = 0.00393;

inline double square(double x) { return x * x; }

// A noise scale goes up by a fifteenth when a run was further off than every second should be, and down when
// it was nearer: what it finds is the median, which neither outliers nor a fault can carry far. The median of
// a normal deviate's square (chi-square of one degree of freedom) is 0.4549; Robbins and Monro 1951.
// surprise: squared, against the variance promised.
inline void follow_median(double& scale, double surprise, double least, double most) {
  constexpr double kSteps = 15, kMedianSurprise = 0.4549;
  scale = std::clamp(scale * (1 + (surprise > kMedianSurprise ? 1 : -1) / kSteps), least, most);
}

// Weight of a run by its squared surprise: tails of Student's t of four degrees of freedom (Lange, Little and
// Taylor 1989).
inline double tail_weight(double surprise) {
  constexpr double kFreedom = 4;
  return std::min(1.0, (kFreedom + 1) / (kFreedom + surprise));
}

}  // namespace coilward
