// A simulation published to a broker as time goes by.
#pragma once

#include <functional>
#include <stop_token>

#include "daemon/simulate/simulate_command.h"
#include "daemon/simulate/simulation.h"

namespace coilward::simulate {

// Publishes until the days are over or `stop` is requested. speed: simulated seconds in one real second.
Result<std::uint64_t> publish_live(Simulation& simulation, const std::string& broker, double speed,
                                   std::stop_token stop);

}  // namespace coilward::simulate
