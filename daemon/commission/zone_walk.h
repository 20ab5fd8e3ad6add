// One zone of a commissioning: switched on at the controller, seen, judged. The folder's own header.
#pragma once

#include "daemon/commission/coil_check.h"
#include "daemon/commission/commission.h"

namespace coilward {

// Asks for the zone's name, box, valves and rating, and puts them into the configuration.
Result<bool> ask_zone(Dialogue& dialogue, Config& config, ZoneConfig& zone);
// Switches it on and off, until it is plausible, kept as it is, or left out. The note says what was seen; a
// sensor that is another's, or has another unit, becomes a [[sensor]] of the configuration.
Result<std::string> look_at_zone(Dialogue& dialogue, const CommissionLinks& links, Config& config,
                                 const ZoneConfig& zone);

}  // namespace coilward
