// Every route of the contractor's server, and what it needs of who asks.
#include <algorithm>
#include <array>

#include "daemon/fleet/server/fleet_route.h"

namespace coilward {
namespace {

using enum FleetPlace;

constexpr std::array kFleetRoutes = {
    FleetRoute{"GET", "/", FleetNeed::read, "show find page", pages, get_fleet_sites},
    FleetRoute{"GET", "/site/{site}", FleetNeed::read, "said", pages, get_fleet_site},
    FleetRoute{"POST", "/site/{site}/assign", FleetNeed::assign, "token to", pages, act_fleet_assign},
    FleetRoute{"POST", "/site/{site}/finding/{finding}/acknowledge", FleetNeed::look_after, "token by", pages,
               act_fleet_acknowledge},
    FleetRoute{"GET", "/login", FleetNeed::open, "next said", door, get_fleet_login},
    FleetRoute{"POST", "/login", FleetNeed::open, "token name password next", door, act_fleet_log_in},
    FleetRoute{"POST", "/logout", FleetNeed::person, "token", door, act_fleet_log_out},
    FleetRoute{"GET", "/account", FleetNeed::person, "said", door, get_fleet_account},
    FleetRoute{"POST", "/account/password", FleetNeed::person, "token old password again", door,
               act_fleet_password},
    FleetRoute{"POST", "/account/log-out-elsewhere", FleetNeed::person, "token", door,
               act_fleet_log_out_elsewhere},
    FleetRoute{"GET", "/assets/{asset}", FleetNeed::open, "v", at_once, get_fleet_asset, false},
    FleetRoute{"GET", "/app.webmanifest", FleetNeed::open, "", at_once, get_fleet_manifest, false},
    FleetRoute{"GET", "/healthz", FleetNeed::open, "", at_once, get_fleet_healthz, false},
    FleetRoute{"GET", "/metrics", FleetNeed::machine, "", pages, get_fleet_metrics, false},
};

constexpr bool names_are_known(std::string_view pattern) {
  for (std::size_t at = pattern.find('{'); at != std::string_view::npos; at = pattern.find('{', at + 1)) {
    const std::string_view name = pattern.substr(at + 1, pattern.find('}', at) - at - 1);
    if (std::find(std::begin(kFleetNames), std::end(kFleetNames), name) == std::end(kFleetNames))
      return false;
  }
  return true;
}
static_assert(std::all_of(kFleetRoutes.begin(), kFleetRoutes.end(),
                          [](const FleetRoute& route) { return names_are_known(route.pattern); }),
              "what a route names must stand in kFleetNames (fleet_route.h)");
// Only what is known without the database is answered at once, so that nobody in particular is asked for.
static_assert(std::all_of(kFleetRoutes.begin(), kFleetRoutes.end(), [](const FleetRoute& route) {
  return route.place != at_once || route.need == FleetNeed::open;
}));

}  // namespace

std::span<const FleetRoute> fleet_routes() { return kFleetRoutes; }

}  // namespace coilward
