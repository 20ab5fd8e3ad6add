#include "daemon/fleet/server/fleet_desk.h"

#include "daemon/fleet/server/fleet_clerk.h"
#include "daemon/fleet/server/fleet_frame.h"

namespace coilward {

class FleetDesk::Impl {
 public:
  Impl(const FleetServerConfig& config, const std::string& password, const Clock& clock,
       std::function<IngestState()> state, const Post& post)
      : facts_{clock, std::move(state), config.http.metrics},
        pages_(FleetPlace::pages, config, password, facts_, post),
        door_(FleetPlace::door, config, password, facts_, post) {}

  void handle(const ApiRequest& request, const Respond& respond) {
    auto found = find_fleet_route(request);
    FleetCall call{request, found.args, facts_, facts_.clock.utc()};
    if (!found.route) return respond(fleet_problem_page(call, no_fleet_route(found, request)));
    if (found.route->place == FleetPlace::at_once) return respond(fleet_answer(*found.route, call));
    FleetClerk& clerk = found.route->place == FleetPlace::door ? door_ : pages_;
    clerk.give({std::move(found), request, respond});
  }

  bool stop(std::chrono::milliseconds limit) {
    const bool ended = pages_.stop(limit);
    return door_.stop(limit) && ended;
  }

 private:
  const FleetFacts facts_;
  FleetClerk pages_, door_;
};

FleetDesk::FleetDesk(const FleetServerConfig& config, std::string password, const Clock& clock,
                     std::function<IngestState()> state, Post post)
    : impl_(std::make_unique<Impl>(config, password, clock, std::move(state), post)) {}
FleetDesk::~FleetDesk() = default;
void FleetDesk::handle(const ApiRequest& request, Respond respond) { impl_->handle(request, respond); }
bool FleetDesk::stop(std::chrono::milliseconds limit) { return impl_->stop(limit); }

}  // namespace coilward
