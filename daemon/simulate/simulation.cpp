#include "daemon/simulate/simulation.h"

#include "daemon/simulate/simulation_impl.h"

namespace coilward::simulate {

Simulation::Simulation(Scenario scenario, SimulationWatcher* watcher)
    : impl_(std::make_unique<Impl>(std::move(scenario), watcher)) {}
Simulation::~Simulation() = default;
Simulation::Simulation(Simulation&&) noexcept = default;

bool Simulation::next(SimulatedMessage& message) { return impl_->next(message); }
Json Simulation::truth() const { return impl_->truth(); }
std::uint64_t Simulation::runs() const { return impl_->runs(); }
const Scenario& Simulation::scenario() const { return impl_->scenario(); }

}  // namespace coilward::simulate
