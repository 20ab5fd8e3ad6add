// One or two plain sentences for a finding, for the technician's list. Alerts are worded elsewhere
// (daemon/alerts).
#pragma once

#include <string>
#include <vector>

#include "daemon/pipeline.h"

namespace coilward {

// detail: what was measured, as a sentence; empty if there is nothing to add.
std::string summary_of(Fault fault, const std::vector<int>& zones, const std::string& detail);

// "Zone 4", "Zones 3, 5 and 6", "The master output".
std::string zones_text(const std::vector<int>& zones);

// How soon someone has to act. strength: the part of the normal draw that is left (1 when not known).
Severity severity_of(Fault fault, double strength);

}  // namespace coilward
