// The live wiring, in the path's order: broker -> spool -> core thread -> keeper -> delivery. The core thread
// runs the io_context and owns the site; everything that may wait has a thread of its own.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

enum class DaemonEnd { stop, reload };

class Daemon {
 public:
  // Builds everything that a wrong configuration can break; nothing is started. bad_config, or world and
  // conflict for directories that cannot be used.
  static Result<std::unique_ptr<Daemon>> make(Config config, std::string version);
  ~Daemon();

  // Runs until SIGTERM or SIGINT (stop), or until SIGHUP brought a configuration that is good (reload: it is
  // in next_config). Everything accepted is committed before it returns.
  Result<DaemonEnd> run();
  Config next_config() const;
  // A thread could not be ended: leave with _exit.
  bool left_threads_behind() const;

 private:
  class Impl;
  explicit Daemon(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
