// The contractor's server: the same program in the role `fleet`. It has no state of its own, so that any
// number of them can run on one broker and one database.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/config/fleet_server.h"

namespace coilward {

class FleetDaemon {
 public:
  // Builds everything that a wrong configuration can break; nothing is connected. bad_config.
  static Result<std::unique_ptr<FleetDaemon>> make(const FleetServerConfig& config,
                                                   const std::string& version);
  ~FleetDaemon();
  // Runs until SIGTERM or SIGINT. conflict: the port is taken.
  Result<bool> run();
  // A thread could not be ended: leave with _exit.
  bool left_threads_behind() const;

 private:
  class Impl;
  explicit FleetDaemon(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
