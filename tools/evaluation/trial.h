// Runs one simulated site through the stages that live data runs through, and keeps what was true and said.
#pragma once

#include "daemon/simulate/population.h"
#include "tools/evaluation/record.h"

namespace coilward::evaluate {

// Thread: any; the record depends on nothing but the scenario. time_intake: decodes everything a second time
// to learn what that costs.
SiteRecord try_site(int index, simulate::Scenario scenario, bool time_intake = false);

}  // namespace coilward::evaluate
