// A site as it really is, beside the configuration that describes it: true lengths, coils and source, which
// the configuration knows only roughly or not at all.
#pragma once

#include <vector>

#include "daemon/config/config.h"
#include "daemon/simulate/solenoid.h"

namespace coilward::simulate {

// Copper of one conductor; square_mm as in the configuration.
struct TrueZone {
  int number = 0;
  int box = -1;    // position in Config::boxes; -1: at the end of a run of its own
  int common = 0;  // position in Config::commons
  double square_mm = 0.823;
  bool stranded = false;
  double own_metres = 1;      // from the box (or the controller) to the valves
  double output_ohms = 0.15;  // the controller's switch, terminal and splices on the zone's side
  std::vector<Solenoid> valves;
};

struct TrueSite {
  std::vector<double> box_metres;   // by position in Config::boxes: wire from its parent
  std::vector<double> splice_ohms;  // by box: the common's splice there
  std::vector<TrueZone> zones;      // in the configuration's order
  bool has_master = false;
  TrueZone master;
  double source_ohms = 1.2;
  double open_volts = 26.5;  // secondary with nothing on, mains at its usual height
};

// Ohms of a metre of copper: 1/58 ohm mm2/m at 20 Celsius and 0.00393 a kelvin (IEC 60028); strands are 2 %
// longer.
double ohms_per_metre(double square_mm, bool stranded, double celsius);
inline constexpr double kCopperPerKelvin = 0.00393;

// A true site behind a configuration: what the file leaves open and what is never as the file says.
TrueSite draw_true_site(const Config& config, std::uint64_t seed);

const TrueZone* find_zone(const TrueSite& site, int number);  // kMasterZone: the master's output

}  // namespace coilward::simulate
