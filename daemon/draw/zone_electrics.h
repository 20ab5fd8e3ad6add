// What the configuration says of each output's circuit: copper to its box and back, the solenoids at the end,
// and which stretches of common it shares. Numbers for the circuit of one zone on alone, at 20 Cel.
#pragma once

#include <complex>
#include <vector>

#include "daemon/config/config.h"

namespace coilward {

// A stretch of one common between two neighbouring boxes (or the controller and the first). box -1: the
// common at the controller's terminal, listed where no single box has all of its outputs behind it.
struct CommonSegment {
  int common = 0;          // position in Config::commons
  int box = -1;            // the box at its far end, position in Config::boxes
  std::vector<int> zones;  // positions in ZoneElectrics list: every output at or beyond that box
};

// One output. Impedances in ohms at the mains frequency; "coils" is all its solenoids in parallel.
struct ZoneElectrics {
  int zone = 0;  // number; kMasterZone for the master output
  int common = 0;
  int box = -1;
  int valves = 1;
  double wire_ohms = 0;    // zone wire, controller to box
  double common_ohms = 0;  // common, box to controller
  double coil_ohms = 0;    // resistance of the coils
  double seated_ohms = 0;  // reactance of the coils, plunger seated
  double open_ohms = 0;    // the same, plunger not seated: at switch-on
  bool rated = false;      // hold_amps was given
  double inrush_sd = 0;    // of the ratio of inrush to holding current, relative
  double copper_ohms() const { return wire_ohms + common_ohms; }
  std::complex<double> hold_impedance() const { return {copper_ohms() + coil_ohms, seated_ohms}; }
  std::complex<double> inrush_impedance() const { return {copper_ohms() + coil_ohms, open_ohms}; }
};

struct SiteElectrics {
  double rated_volts = 24;
  double source_ohms = 0;            // resistive: a small transformer's leakage is mostly winding resistance
  std::vector<ZoneElectrics> zones;  // in the order of Config::zones, the master output last
  std::vector<CommonSegment> segments;  // of every common, boxes in the configuration's order
  int index_of(int zone) const;         // position in zones; -1: none
};

// The source's series ohms: as given, else from its rating.
double source_ohms(const SupplyConfig& supply);

SiteElectrics site_electrics(const Config& config);

// Refits the coils so that alone on the rated volts the output draws hold_amps (and inrush_amps if measured),
// its resistance kept in the same ratio to its impedance.
ZoneElectrics fitted(ZoneElectrics zone, double volts, double hold_amps, double inrush_amps);

}  // namespace coilward
