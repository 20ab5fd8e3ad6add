// Copper wire: size, and resistance at a temperature. Thread: any; no state.
//
// Sources. Diameter of an AWG size: ASTM B258. Resistivity 1/58 ohm mm2/m at 20 Cel and temperature
// coefficient 0.00393 per kelvin at 20 Cel of annealed copper: IACS, IEC 60028. Seven-strand wire is 2 %
// longer than the cable it makes: NEC chapter 9 table 8, ratio of its stranded to its solid column. The
// results agree with the tables of NBS Handbook 100 within 0.05 % and of NEC chapter 9 table 8 within 0.6 %.
#pragma once

namespace coilward::circuit {

// What a conductor is made of, both at 20 Cel.
struct Metal {
  double ohm_square_mm_per_metre = 0;
  double per_kelvin = 0;
};
inline constexpr Metal kCopper{1.0 / 58.0, 0.00393};

enum class Strands { solid, seven };

inline constexpr double kMetresPerFoot = 0.3048;  // exact
inline double metres_from_feet(double feet) { return feet * kMetresPerFoot; }
inline double feet_from_metres(double metres) { return metres / kMetresPerFoot; }

// AWG numbers from 4/0 (-3) by way of 1/0 (0) to 40.
inline constexpr int kThickestAwg = -3;
inline constexpr int kThinnestAwg = 40;
double awg_diameter_mm(int awg);
double awg_square_mm(int awg);
// The thinnest size with at least this copper; kThickestAwg - 1 when there is none.
int awg_with_at_least(double square_mm);
// The area of a circle one thousandth of an inch across, as American tables count copper.
double square_mm_from_circular_mils(double mils);

// Resistance at `celsius` over that at 20 Cel. Linear, as the coefficient is meant: -40 to 120 Cel.
double resistance_ratio(double celsius, const Metal& metal = kCopper);
// Of one metre of one conductor: there, not back. square_mm: the copper alone, above 0.
double ohms_per_metre(double square_mm, double celsius = 20, Strands strands = Strands::solid,
                      const Metal& metal = kCopper);
// The copper that `metres` of solid wire need at 20 Cel to stay at or below `ohms`.
double square_mm_for(double ohms, double metres, const Metal& metal = kCopper);

}  // namespace coilward::circuit
