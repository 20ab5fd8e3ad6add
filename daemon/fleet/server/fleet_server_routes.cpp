// What the server says of itself, and its files.
#include <nlohmann/json.hpp>

#include "daemon/fleet/server/fleet_route.h"
#include "daemon/metrics_of.h"
#include "daemon/web/api_route.h"
#include "daemon/web/assets.h"
#include "daemon/web/http_request.h"

namespace coilward {

Result<ApiResponse> get_fleet_asset(FleetCall& call) {
  return asset_response(call.args[0], !call.query("v").empty());
}

Result<ApiResponse> get_fleet_manifest(FleetCall&) {
  ApiResponse response{200, "application/manifest+json"};
  response.body =
      R"({"name":"coilward, all sites","short_name":"Sites","start_url":"/","display":"standalone"})";
  return response;
}

// Why, for this machine only.
Result<ApiResponse> get_fleet_healthz(FleetCall& call) {
  const IngestState state = call.facts.state();
  const bool near = is_loopback_address(call.request.asker.address);
  const auto stage = [near](const char* name, bool ok, const std::string& why) {
    return Json{{"name", name}, {"ok", ok}, {"why", ok || !near ? "" : why}};
  };
  Json stages = Json::array();
  stages.push_back(stage("broker", state.broker, state.broker_why));
  stages.push_back(stage("database", state.database, state.database_why));
  const bool ok = state.broker && state.database;
  return json_response({{"ok", ok}, {"stages", stages}}, ok ? 200 : 503);
}

Result<ApiResponse> get_fleet_metrics(FleetCall& call) {
  if (!call.facts.metrics) return Error{Cause::not_found, "metrics are switched off in the configuration"};
  const auto totals = call.views->totals();
  if (!totals) return totals.error();
  const IngestState s = call.facts.state();
  std::vector<Metric> list;
  add_gauge(list, "coilward_fleet_sites", "Sites that ever sent something.", double(totals->sites));
  add_gauge(list, "coilward_fleet_sites_online", "Sites that are connected.", double(totals->online));
  add_gauge(list, "coilward_fleet_findings_open", "Open findings of all sites.",
            double(totals->open_findings));
  add_counter(list, "coilward_fleet_messages_new", "Messages written by this worker.",
              double(s.counts.fresh));
  add_counter(list, "coilward_fleet_messages_again", "Messages that were there before.",
              double(s.counts.again));
  add_counter(list, "coilward_fleet_messages_refused", "Messages whose content the database refused.",
              double(s.counts.refused));
  add_counter(list, "coilward_fleet_messages_unreadable", "Messages that could not be read.",
              double(s.unreadable));
  add_counter(list, "coilward_fleet_messages_dropped",
              "Messages for which there was no room; they come again.", double(s.dropped));
  add_counter(list, "coilward_fleet_batches", "Transactions.", double(s.batches));
  add_gauge(list, "coilward_fleet_messages_waiting", "Messages not written yet.", double(s.waiting));
  return metrics_response(list);
}

}  // namespace coilward
