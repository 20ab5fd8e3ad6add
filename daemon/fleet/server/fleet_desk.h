// Answers the contractor's requests: each finds its route (fleet_routes.cpp) and is done by a clerk
// (fleet_clerk.h); the answer goes back to the thread of the HTTP server, which never waits.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/config/fleet_server.h"
#include "daemon/fleet/server/ingest_line.h"
#include "daemon/web/api.h"

namespace coilward {

// Thread: handle() the server's.
class FleetDesk final : public RequestHandler {
 public:
  // post: brings a call to the server's thread, from any. state: of the ingest, for /healthz and /metrics.
  using Post = std::function<void(std::function<void()>)>;
  FleetDesk(const FleetServerConfig& config, std::string password, const Clock& clock,
            std::function<IngestState()> state, Post post);
  ~FleetDesk() override;
  void handle(const ApiRequest& request, Respond respond) override;
  bool stop(std::chrono::milliseconds limit);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
