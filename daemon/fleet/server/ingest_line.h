// What the sites send, from the broker into the database, and the answers back. One thread writes; any number
// of workers, in as many processes, share the sites' messages.
//
// Nothing is promised by what the broker is told: a message that is dropped here for want of room or of the
// database comes again from its site.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/config/fleet_server.h"
#include "daemon/fleet/server/fleet_store.h"

namespace coilward {

struct IngestState {
  bool broker = false, database = false;
  std::string broker_why, database_why;
  UtcTime broker_since = kNever, database_since = kNever;
  IngestCounts counts;
  std::uint64_t batches = 0, answers = 0;
  std::uint64_t unreadable = 0;  // payloads without a number, or with a body that cannot be used
  std::uint64_t dropped = 0;     // for want of room
  std::uint64_t waiting = 0;
};

// Thread: any.
class IngestLine {
 public:
  // bad_config: the broker's url. Nothing is connected before start(). `clock` outlives the process's last
  // message.
  static Result<std::unique_ptr<IngestLine>> make(const FleetServerConfig& config, std::string password,
                                                  const std::string& version, const Clock& clock);
  ~IngestLine();
  void start();
  IngestState state() const;
  // false: a thread could not be ended in time; leave with _exit.
  bool stop(std::chrono::milliseconds limit);

 private:
  class Impl;
  explicit IngestLine(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
