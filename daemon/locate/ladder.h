// One zone's circuit laid out along its way: the zone wire out and the common back, stop by stop, with the
// coil at the end. What a meter would show at each stop, healthy or with one defect. Physics alone: no names,
// no chances. Thread: any.
//
// Order of things, as a number that grows along the way ("spot"):
//   0 the controller's output; then for stop k: 3k+1 the point where volts are measured, on the side that
//   comes from the controller; 3k+2 the splices of the box; 3k+3 the segment to the next stop, or the coils
//   after the last one. Segment k, which ends at stop k, is thus spot 3k. Ohms at stop k are measured where
//   the splices were undone, between 3k+2 and 3k+3.
#pragma once

#include <vector>

#include "daemon/circuit/phasor.h"
#include "daemon/config/config.h"
#include "daemon/locate/wire_path.h"

namespace coilward {

inline int volts_spot(int stop) { return 3 * stop + 1; }
inline int splice_spot(int stop) { return 3 * stop + 2; }
inline int segment_spot(int ends_at_stop) { return 3 * ends_at_stop; }
inline int coil_spot(int last_stop) { return 3 * last_stop + 3; }

// What is wrong at a spot. `ohms` is: added in series; from zone wire to common; from zone wire to earth (and
// by way of earth to the common's terminal); left of the coils.
enum class Defect {
  none,
  open,         // zone wire or common broken
  series_ohms,  // in zone wire or common
  shunt_ohms,   // zone wire to common
  earth_ohms,   // zone wire to earth
  coil_ohms,    // the coils' resistance and reactance shrink to it
  plunger_out,  // coils at their inrush impedance
  crossed,      // another zone's wire touches: its coils, taken as like these, lie beside them
  branch_open,  // one of several valves is cut off; volts at the last stop are those at its own leads
};

struct Ladder {
  double volts = 0;  // open circuit
  double source_ohms = 0;
  std::vector<double> loop;             // by stop: ohms of zone wire and common as far as there
  circuit::Impedance coils, coils_out;  // plunger seated, and out
  double dc_ohms = 0;                   // of the coils, for a meter
  int valves = 1;
  int last() const { return static_cast<int>(loop.size()) - 1; }
  double loop_ohms(int from_stop, int to_stop) const {
    return loop[static_cast<std::size_t>(to_stop)] - loop[static_cast<std::size_t>(from_stop)];
  }
};

// hold_amps: what the zone normally draws, learned; NaN: the rating, or what is typical.
Ladder ladder_of(const Config& config, const WirePath& path, double hold_amps);

// Reads as an open path on a meter of ohms.
inline constexpr double kOpenOhms = 1e9;

// What differs, and what is not known well: the source's volts and the coils' resistance, relative.
struct Condition {
  Defect defect = Defect::none;
  int spot = 0;
  double ohms = 0;
  double supply_factor = 1;
  double coil_factor = 1;
};

// Zone wire to common at the stop, zone on.
double volts_on_at(const Ladder& ladder, int stop, const Condition& condition);
// Zone wire to common, zone off, splices undone at the stop; kOpenOhms when there is no path.
double ohms_toward_valve(const Ladder& ladder, int stop, const Condition& condition);
double ohms_toward_controller(const Ladder& ladder, int stop, const Condition& condition);
// What the zone draws at its output.
double amps_of(const Ladder& ladder, const Condition& condition);

// Ohms in series that bring the draw down to `ratio` of normal (0 to 1); 0 when it has not fallen.
double series_ohms_for(const Ladder& ladder, double ratio);

}  // namespace coilward
