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

// What the runs since a repair say: "Zone 4 draws 0.228 A and should draw 0.214 to 0.248 A; with the fault it
// drew 0.002 A, before that 0.231 A." Empty while none has run.
std::string repair_words(const RepairProof& repair);

// How soon someone has to act. strength: the part of the normal draw that is left (1 when not known).
Severity severity_of(Fault fault, double strength);

}  // namespace coilward
