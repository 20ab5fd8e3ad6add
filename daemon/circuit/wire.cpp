#include "daemon/circuit/wire.h"

#include <cmath>
#include <numbers>

namespace coilward::circuit {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kSevenStrandLay = 1.02;

double circle(double diameter_mm) { return std::numbers::pi / 4 * diameter_mm * diameter_mm; }

}  // namespace

double awg_diameter_mm(int awg) { return 0.005 * kMmPerInch * std::pow(92.0, (36 - awg) / 39.0); }

double awg_square_mm(int awg) { return circle(awg_diameter_mm(awg)); }

int awg_with_at_least(double square_mm) {
  int awg = kThinnestAwg;
  while (awg >= kThickestAwg && awg_square_mm(awg) < square_mm) --awg;
  return awg;
}

double square_mm_from_circular_mils(double mils) { return mils * circle(kMmPerInch / 1000); }

double resistance_ratio(double celsius, const Metal& metal) { return 1 + metal.per_kelvin * (celsius - 20); }

double ohms_per_metre(double square_mm, double celsius, Strands strands, const Metal& metal) {
  const double lay = strands == Strands::seven ? kSevenStrandLay : 1.0;
  return metal.ohm_square_mm_per_metre * lay * resistance_ratio(celsius, metal) / square_mm;
}

double square_mm_for(double ohms, double metres, const Metal& metal) {
  return metal.ohm_square_mm_per_metre * metres / ohms;
}

}  // namespace coilward::circuit
