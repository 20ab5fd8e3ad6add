#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/web/api_route.h"
#include "daemon/web/openapi_text.h"
#include "daemon/web/query.h"
#include "daemon/web/site_json.h"

namespace coilward {

ApiResponse get_site(const Call& call) { return json_response(site_to_json(call.site)); }

ApiResponse get_zones(const Call& call) {
  Json zones = Json::array();
  for (const ZoneState& zone : call.site.zones()) zones.push_back(zone_to_json(zone, call.site.config()));
  return json_response({{"zones", zones}});
}

ApiResponse get_zone(const Call& call) {
  const auto number = parse_number(call.args[0], 0, kMaxZone, "zone");
  if (!number) return problem(number.error());
  for (const ZoneState& zone : call.site.zones())
    if (zone.number == *number) return json_response(zone_to_json(zone, call.site.config()));
  return problem({Cause::not_found, fmt::format("the site has no zone {}", *number)});
}

ApiResponse get_findings(const Call& call) {
  const std::string all = call.query("all");
  if (!all.empty() && all != "0" && all != "1")
    return problem({Cause::bad_input, fmt::format("all is '{}': allowed is 0 or 1", all)});
  const auto found = call.site.findings(all == "1");
  if (!found) return problem(found.error());
  Json findings = Json::array();
  for (const Finding& finding : *found) findings.push_back(site_finding_to_json(finding, call.site));
  return json_response({{"findings", findings}});
}

ApiResponse get_finding(const Call& call) {
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return problem(finding.error());
  return json_response(site_finding_to_json(*finding, call.site));
}

ApiResponse get_health(const Call& call) { return json_response(health_to_json(call.site.health())); }

// A watcher elsewhere learns whether all is well, not what is wrong.
ApiResponse get_healthz(const Call& call) {
  const auto stages = call.site.health();
  const Json json = call.visitor.may(Need::read) ? health_to_json(stages) : Json{{"ok", all_ok(stages)}};
  return json_response(json, all_ok(stages) ? 200 : 503);
}

ApiResponse get_openapi(const Call&) {
  ApiResponse response;
  response.body = kOpenApiText;
  return response;
}

}  // namespace coilward
