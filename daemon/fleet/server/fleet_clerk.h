// Answers requests one after the other on a thread of its own, with a connection of its own: one clerk for
// the pages, one for the way in.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "daemon/config/fleet_server.h"
#include "daemon/fleet/server/fleet_gate.h"

namespace coilward {

struct FleetAsk {
  FleetRouteFound found;
  ApiRequest request;
  Respond respond;
};

// What a request that has passed, or was turned away, is answered; problems of pages as pages. Thread: any.
ApiResponse fleet_answer(const FleetRoute& route, FleetCall& call);

// Thread: any.
class FleetClerk {
 public:
  // post: brings a call to the server's thread, from any. The facts outlive it.
  using Post = std::function<void(std::function<void()>)>;
  FleetClerk(FleetPlace place, const FleetServerConfig& config, std::string password, const FleetFacts& facts,
             Post post);
  ~FleetClerk();
  void give(FleetAsk ask);
  // false: the thread could not be ended in time; leave with _exit.
  bool stop(std::chrono::milliseconds limit);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
