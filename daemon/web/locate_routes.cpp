// Where a finding's fault may be, and what a technician measured.
#include <nlohmann/json.hpp>

#include "daemon/web/api_route.h"
#include "daemon/web/site_location.h"

namespace coilward {
namespace {

// A finding with what was measured for it.
struct Asked {
  Finding finding;
  KeptReadings kept;
};

Result<Asked> asked(const Call& call) {
  auto finding = call.site.finding(call.args[0]);
  if (!finding) return finding.error();
  const auto rows = call.site.test_readings(call.args[0]);
  if (!rows) return rows.error();
  return Asked{std::move(*finding), kept_readings(*rows)};
}

}  // namespace

ApiResponse get_places(const Call& call) {
  const auto found = asked(call);
  if (!found) return problem(found.error());
  return json_response(location_to_json(site_location(call.site, found->finding, found->kept)));
}

ApiResponse get_test_readings(const Call& call) {
  const auto found = asked(call);
  if (!found) return problem(found.error());
  const Location location = site_location(call.site, found->finding, found->kept);
  return json_response(readings_to_json(call.site, found->finding, found->kept, location));
}

// The answer is that of the places as they are now, with the reading and what is to be said of it.
ApiResponse post_test_reading(const Call& call) {
  auto found = asked(call);
  if (!found) return problem(found.error());
  const WirePath path = wire_path(call.site.config(), zone_to_measure(call.site.config(), found->finding));
  Json body = call.body;
  if (call.visitor.is_person()) body["by"] = call.visitor.name;
  auto reading = reading_from_json(body, path);
  if (!reading) return problem(reading.error());
  const Json entered = reading_to_json(*reading);
  const auto kept = call.site.keep_test_reading(found->finding.id,
                                                entered.dump(-1, ' ', false, Json::error_handler_t::replace));
  if (!kept) return problem(kept.error());
  found->kept.readings.push_back(std::move(*reading));
  const Location location = site_location(call.site, found->finding, found->kept);
  Json answer = location_to_json(location);
  answer["reading"] = entered;
  answer["explained"] = location.odd.empty();
  answer["words"] = location.odd;
  return json_response(answer);
}

}  // namespace coilward
