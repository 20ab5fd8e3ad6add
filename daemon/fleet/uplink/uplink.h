// The site's side of the fleet: one thread, one connection that it dials itself, and the outbox. The core
// never waits for any of it.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/fleet/uplink/uplink_step.h"

namespace coilward {

// Thread: any.
class Uplink {
 public:
  // bad_config: the url. world: uplink.db cannot be opened or made. `clock` outlives the process's last
  // message.
  static Result<std::unique_ptr<Uplink>> open(const Config& config, const std::string& version,
                                              const Clock& clock);
  ~Uplink();

  // history.db and state.db exist by now.
  void start();
  // Something was committed.
  void wake();
  // What is wrong with coilward itself: an array of {"stage", "why", "since"}.
  void set_troubles(const Json& troubles);
  UplinkState state() const;
  // false: a thread could not be ended in time; leave with _exit.
  bool stop(std::chrono::milliseconds limit);

 private:
  class Impl;
  explicit Uplink(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
