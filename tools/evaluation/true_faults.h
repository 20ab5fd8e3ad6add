// The simulation's truth as the scoring wants it. It knows only what was simulated, nothing of how the
// diagnosis thinks.
#pragma once

#include "daemon/base/pipeline_json.h"
#include "daemon/simulate/scenario.h"
#include "tools/evaluation/record.h"

namespace coilward::evaluate {

// What the controller did, in seconds since the start; off_s -1: to the end.
struct Turn {
  int output = 0;
  double on_s = 0, off_s = -1;
};

// Rain delays, brown-outs, replacements and the like, a text each.
std::vector<std::string> incidents_of(const simulate::Scenario& scenario);
// Zones, channels, times: all that does not have to be simulated.
void describe(const simulate::Scenario& scenario, SiteRecord& record);
std::vector<TrueFault> true_faults(const simulate::Scenario& scenario, const Json& truth,
                                   const std::vector<Turn>& turns);
// Writes beside each affected run what the pipeline made of it.
void note_amps(std::vector<TrueFault>& faults, const std::vector<Run>& runs);

}  // namespace coilward::evaluate
