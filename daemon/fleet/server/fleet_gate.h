// Whether a request may go on to its route, and what is answered when it may not. Thread: any.
#pragma once

#include <optional>

#include "daemon/fleet/server/fleet_route.h"

namespace coilward {

// The route of a path, with what stands in its {}; no route: the methods that there are (none: no such path).
struct FleetRouteFound {
  const FleetRoute* route = nullptr;
  std::vector<std::string> args = {};
  std::string allow = {};
};
FleetRouteFound find_fleet_route(const ApiRequest& request);
ApiResponse no_fleet_route(const FleetRouteFound& found, const ApiRequest& request);

// nullopt: it may go on; the form's fields are in the call then.
std::optional<ApiResponse> turned_away_from(const FleetRoute& route, FleetCall& call);

}  // namespace coilward
