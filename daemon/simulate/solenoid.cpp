#include "daemon/simulate/solenoid.h"

#include <algorithm>
#include <complex>
#include <numbers>

namespace coilward::simulate {
namespace {

// Fitted to the table: L(gap) / L(0.25 mm) = leak + reach / (gap + own), least relative error.
constexpr double kLeak = 0.0871, kReach = 1.5642, kOwnMm = 1.42;

double shape(double gap_mm) { return kLeak + kReach / (gap_mm + kOwnMm); }
double gap_of_shape(double value) { return kReach / (value - kLeak) - kOwnMm; }

using Complex = std::complex<double>;

// Impedance over seated reactance, for a copper share and loss share of it.
double size_of(double copper, double reactance, double loss) {
  const Complex inductive(0, reactance);
  return std::abs(copper + inductive * loss / (inductive + loss));
}

// Copper, as a share of the seated reactance, that gives the wanted inrush over hold.
double copper_share(double inrush_over_hold, double inductance_ratio, double loss) {
  double low = 0, high = 3;
  for (int i = 0; i < 50; ++i) {
    const double middle = (low + high) / 2;
    const double ratio = size_of(middle, 1, loss) / size_of(middle, 1 / inductance_ratio, loss);
    (ratio > inrush_over_hold ? low : high) = middle;
  }
  return low;
}

void draw_plunger(Solenoid& it, const SolenoidRating& rating, Chance& chance) {
  const double pull = pull_newtons(it, it.open_mm, rating.inrush_amps * rating.inrush_amps);
  const double lifts_at = chance.between(0.5, 0.72);  // of rated volts; valves lift well below their rating
  it.spring_newtons = pull * lifts_at * lifts_at;
  it.spring_rise = chance.between(0.1, 0.5);
  const double travel_s = chance.between(0.022, 0.055);
  const double travel_m = (it.open_mm - it.seated_mm) / 1000;
  it.mass_kg = 1.1 * (pull - it.spring_newtons) * travel_s * travel_s / (2 * travel_m);
}

}  // namespace

double inductance(const Solenoid& solenoid, double gap_mm) {
  return solenoid.henries_seated * shape(gap_mm) / shape(solenoid.seated_mm);
}

double pull_newtons(const Solenoid& solenoid, double gap_mm, double square_amps) {
  const double per_mm = kReach / ((gap_mm + kOwnMm) * (gap_mm + kOwnMm));
  return 0.5 * square_amps * solenoid.henries_seated / shape(solenoid.seated_mm) * per_mm * 1000;
}

double rated_amps(const Solenoid& solenoid, double gap_mm, double volts, double hertz) {
  const double reactance = 2 * std::numbers::pi * hertz * inductance(solenoid, gap_mm);
  return volts / size_of(solenoid.ohms_20, reactance, solenoid.loss_ohms);
}

Solenoid make_solenoid(const SolenoidRating& rating, Chance& chance) {
  Solenoid it;
  const double inrush_over_hold = std::clamp(rating.inrush_amps / rating.hold_amps, 1.1, 2.6);
  const double ratio = std::clamp(chance.between(2.0, 3.0), inrush_over_hold * 1.12, 3.4);
  const double loss = chance.between(8, 25);
  const double copper = copper_share(inrush_over_hold, ratio, loss);
  const double reactance = rating.volts / rating.hold_amps / size_of(copper, 1, loss);
  it.seated_mm = chance.between(0.2, 0.3);
  it.open_mm = gap_of_shape(shape(it.seated_mm) / ratio);
  it.ohms_20 = copper * reactance;
  it.loss_ohms = loss * reactance;
  it.henries_seated = reactance / (2 * std::numbers::pi * rating.hertz);
  it.kelvin_per_watt = chance.between(25, 55) / (rating.hold_amps * rating.hold_amps * it.ohms_20);
  it.warm_up_s = chance.between(150, 600);
  draw_plunger(it, rating, chance);
  return it;
}

}  // namespace coilward::simulate
