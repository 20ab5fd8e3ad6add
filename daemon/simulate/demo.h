// A small site that shows the whole product within a minute: runs last seconds, and something breaks.
#pragma once

#include "daemon/simulate/scenario.h"

namespace coilward::simulate {

inline constexpr double kDemoTurnSeconds = 3.0;
inline constexpr double kDemoGapSeconds = 0.3;
inline constexpr double kDemoFaultSeconds = 40;  // after three runs of each zone

// Four zones on two boxes. Rated values are those of ordinary 24 V valve coils (common practice).
Config demo_config();
// Makes the programme and the sensors of a scenario quick; without faults of its own, zone 2's wire breaks.
void make_demo(Scenario& scenario);

}  // namespace coilward::simulate
