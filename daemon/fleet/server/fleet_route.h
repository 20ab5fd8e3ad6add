// A request to the contractor's server on its way: what a handler is given, and the table of them. Inside
// this folder, and for the test that walks the table.
#pragma once

#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/fleet/server/fleet_door.h"
#include "daemon/fleet/server/ingest_line.h"
#include "daemon/web/form_guard.h"

namespace coilward {

// Of one worker, for the routes that tell of it. Thread: any.
struct FleetFacts {
  const Clock& clock;
  std::function<IngestState()> state;
  bool metrics = true;
};

struct FleetCall {
  const ApiRequest& request;
  std::vector<std::string> args;  // what stands in the {} of the pattern, in order
  const FleetFacts& facts;
  UtcTime now;
  FleetVisitor visitor = {};
  FormFields form = {};
  FleetViews* views = nullptr;  // at FleetPlace::pages
  FleetDoor* door = nullptr;    // at FleetPlace::door

  // Empty when it was not given.
  std::string query(const std::string& key) const {
    const auto it = request.query.find(key);
    return it == request.query.end() ? std::string() : it->second;
  }
  std::string field(const std::string& name) const {
    const auto it = form.find(name);
    return it == form.end() ? std::string() : it->second;
  }
};

// Where it is answered: at once, or by a thread with its own connection. Hashing a password holds up no page.
enum class FleetPlace : std::uint8_t { at_once, pages, door };

struct FleetRoute {
  std::string_view method;
  std::string_view pattern;
  FleetNeed need;         // stands before the keys, so that a route without one does not compile
  std::string_view keys;  // of the query (GET) or of the form (POST), separated by blanks; others are errors
  FleetPlace place;
  Result<ApiResponse> (*answer)(FleetCall&);
  bool page = true;  // problems are for people
};

// What a pattern may name. A route with another name in {} does not compile until it stands here, where the
// test that walks every route with the ids of another organisation (tests/fleet) finds it and wants to know
// one.
inline constexpr std::string_view kFleetNames[] = {"site", "finding", "asset"};

std::span<const FleetRoute> fleet_routes();

// fleet_page_routes.cpp
Result<ApiResponse> get_fleet_sites(FleetCall& call);
Result<ApiResponse> get_fleet_site(FleetCall& call);
Result<ApiResponse> act_fleet_acknowledge(FleetCall& call);
Result<ApiResponse> act_fleet_assign(FleetCall& call);
// fleet_door_routes.cpp
Result<ApiResponse> get_fleet_login(FleetCall& call);
Result<ApiResponse> act_fleet_log_in(FleetCall& call);
Result<ApiResponse> act_fleet_log_out(FleetCall& call);
Result<ApiResponse> get_fleet_account(FleetCall& call);
Result<ApiResponse> act_fleet_password(FleetCall& call);
Result<ApiResponse> act_fleet_log_out_elsewhere(FleetCall& call);
// fleet_server_routes.cpp
Result<ApiResponse> get_fleet_asset(FleetCall& call);
Result<ApiResponse> get_fleet_manifest(FleetCall& call);
Result<ApiResponse> get_fleet_healthz(FleetCall& call);
Result<ApiResponse> get_fleet_metrics(FleetCall& call);

}  // namespace coilward
