// finding -> place: where along the wire, by length and splices alone. Test readings narrow it (a later
// stage).
#pragma once

#include <vector>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// A fault somewhere on one zone's own wire, splices or coil, or at its output. Stretches only, best first;
// their chances leave room for coil and controller. Empty when the configuration does not say the zone's box.
std::vector<Stretch> places_on_zone_wire(const Config& config, int zone, bool coil_possible);

// The stretch of wire that ends at a box (position in Config::boxes), by its two ends.
Stretch stretch_to(const Config& config, int box, double probability);

}  // namespace coilward
