// What to take along on a visit: parts and tools, by the fault, where it may be, and the gauges and ratings
// of the configuration. Common practice throughout. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/locate/visit_guide.h"

namespace coilward {

struct VisitPart {
  std::string what;   // "4 waterproof splice connectors for 18 AWG"
  std::string where;  // what they are for: "a splice or the wire made anew"
};

std::vector<VisitPart> visit_parts(const Config& config, const Finding& finding, const Location& location,
                                   const std::vector<GuideStep>& steps);

// "18 AWG", "1 mm²".
std::string gauge_text(const ConductorConfig& wire);

}  // namespace coilward
