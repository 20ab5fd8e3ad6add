// Lets a scenario happen: its messages in the order of their arrival, and afterwards the truth about it.
#pragma once

#include <memory>

#include "daemon/base/pipeline_json.h"
#include "daemon/simulate/scenario.h"

namespace coilward::simulate {

struct SimulatedMessage {
  std::string topic;
  std::string payload;
  UtcTime arrival = kNever;
  bool retained = false;
  int qos = 1;
};

// Told of what a watcher would want to see; on the caller's thread, within next().
class SimulationWatcher {
 public:
  virtual ~SimulationWatcher() = default;
  virtual void on_command(const Command& /*command*/) {}
  virtual void on_fault(const FaultPlan& /*fault*/, bool /*begins*/) {}
};

// Thread: one. The scenario is kept. Everything follows from it: the same scenario gives the same messages.
class Simulation {
 public:
  explicit Simulation(Scenario scenario, SimulationWatcher* watcher = nullptr);
  ~Simulation();
  Simulation(Simulation&&) noexcept;

  // False: the days are over.
  bool next(SimulatedMessage& message);

  // What was wrong, what it took out, from when; each fault with the runs it spoiled so far (at most 200 of
  // each).
  Json truth() const;
  std::uint64_t runs() const;  // switch-ons of zones
  const Scenario& scenario() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward::simulate
