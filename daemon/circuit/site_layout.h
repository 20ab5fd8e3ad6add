// A site's wiring as the circuit sees it, and what may be wrong with it. Ohms are at the site's mains
// frequency and, for copper, at 20 Cel. Plain data; indexes are positions in the vectors of SiteLayout.
//
//   source ---- output of zone k ---- zone wire ---- splice ---- coils ---- node of the common
//     |                                                                          |
//     '--- common terminal (node 0) <--- segment <--- segment <------------------'
//
// The common terminal is the earthed side of the source: what leaks to earth returns there.
#pragma once

#include <limits>
#include <span>
#include <utility>
#include <vector>

#include "daemon/circuit/coil.h"
#include "daemon/circuit/phasor.h"

namespace coilward::circuit {

inline constexpr double kNoPath = std::numeric_limits<double>::infinity();
// Any contact has this much; keeps a loop of dead shorts solvable. Far below anything that can be measured.
inline constexpr double kContactOhms = 1e-6;

// The return wire that zones share, as a tree. Segment i joins node i to its parent; segment 0 joins node 0,
// the controller's terminal, to the source and is usually 0 ohms.
struct CommonTree {
  std::vector<int> parent;   // by node; -1 for node 0; a parent's number is below its child's
  std::vector<double> ohms;  // by segment
};

// One controller output: the zone wire to a box and the solenoids there, in parallel, to a node of its
// common.
struct ZoneBranch {
  int common = 0;
  int node = 0;
  double wire_ohms = 0;  // one way
  Coil coil;             // of one solenoid
  int valves = 1;
};

struct SiteLayout {
  double source_volts = 0;  // open circuit
  Impedance source_ohms;
  std::vector<CommonTree> commons;
  std::vector<ZoneBranch> zones;
};

// One zone's circuit as it is now; as constructed it is healthy, seated and at 20 Cel.
struct ZoneFault {
  double splice_ohms = 0;            // added between zone wire and coils, at the box
  bool open = false;                 // broken there
  double coil_short_ohms = kNoPath;  // across the coils
  double turns = 1;                  // share left in one of the solenoids
  int valves_lost = 0;               // solenoids that no longer conduct
  int plungers_out = 0;              // of those that conduct; all of them: the inrush current
  double leak_ohms = kNoPath;        // from the zone wire by way of earth to the source, all of that path
  double leak_share = 1;             // where: 0 at the controller, 1 at the box, along the zone wire
  double coil_celsius = 20;          // of the coils' copper
};

// Added to a segment of a common; kNoPath: broken.
struct CommonFault {
  int common = 0;
  int segment = 0;
  double ohms = 0;
};

// The wires of two zones touch.
struct Crossing {
  int zone_a = 0;
  int zone_b = 0;
  double ohms = 0;     // of the contact
  double share_a = 1;  // where on each zone's wire: 0 at the controller, 1 at its box
  double share_b = 1;
};

// What differs from the healthy site at 20 Cel. A zone that is not listed is healthy.
struct SiteFaults {
  std::vector<std::pair<int, ZoneFault>> zones;  // each zone at most once
  std::vector<CommonFault> commons;
  std::vector<Crossing> crossings;
  double source_factor = 1;    // on source_volts
  double copper_celsius = 20;  // of all zone wires and commons
};

// Itself, or kContactOhms when it is smaller.
Impedance at_least_contact(Impedance ohms);
// nullptr: not listed.
const ZoneFault* fault_of(const SiteFaults& faults, int zone);
// All solenoids of a zone together, without wire and splice. Real part kNoPath when none conducts.
Impedance coils_impedance(const ZoneBranch& zone, const ZoneFault& fault);
// Segments from a zone's node to the source, at 20 Cel.
double common_ohms(const SiteLayout& layout, int zone);

}  // namespace coilward::circuit
