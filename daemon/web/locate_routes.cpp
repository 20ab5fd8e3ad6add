// Where a finding's fault may be, and what a technician measured.
#include <nlohmann/json.hpp>

#include "daemon/web/api_route.h"
#include "daemon/web/aside.h"
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

// What of it is answered, once it is known where the fault may be.
using Tell = std::function<Json(const SiteAccess&, const Asked&, const Location&)>;

void tell_located(const Call& call, Asked found, Tell tell, Respond respond) {
  LocateInput input = locate_input(call.site, found.finding, found.kept);
  answer_aside<Location>(
      call, [input = std::move(input)] { return locate_fault(input); },
      [found = std::move(found), tell = std::move(tell)](const Call& kept, const Location& location) {
        return json_response(tell(kept.site, found, location));
      },
      std::move(respond));
}

Json places_told(const SiteAccess&, const Asked&, const Location& location) {
  return location_to_json(location);
}

Json readings_told(const SiteAccess& site, const Asked& found, const Location& location) {
  return readings_to_json(site, found.finding, found.kept, location);
}

// The places as they are now, with the reading and what is to be said of it.
Json entered_told(const SiteAccess&, const Asked& found, const Location& location) {
  Json answer = location_to_json(location);
  answer["reading"] = reading_to_json(found.kept.readings.back());
  answer["explained"] = location.odd.empty();
  answer["words"] = location.odd;
  return answer;
}

}  // namespace

void get_places(const Call& call, Respond respond) {
  auto found = asked(call);
  if (!found) return respond(problem(found.error()));
  tell_located(call, std::move(*found), places_told, std::move(respond));
}

void get_test_readings(const Call& call, Respond respond) {
  auto found = asked(call);
  if (!found) return respond(problem(found.error()));
  tell_located(call, std::move(*found), readings_told, std::move(respond));
}

void post_test_reading(const Call& call, Respond respond) {
  auto found = asked(call);
  if (!found) return respond(problem(found.error()));
  const WirePath path = wire_path(call.site.config(), zone_to_measure(call.site.config(), found->finding));
  Json body = call.body;
  if (call.visitor.is_person()) body["by"] = call.visitor.name;
  auto reading = reading_from_json(body, path);
  if (!reading) return respond(problem(reading.error()));
  const auto kept = call.site.keep_test_reading(
      found->finding.id, reading_to_json(*reading).dump(-1, ' ', false, Json::error_handler_t::replace));
  if (!kept) return respond(problem(kept.error()));
  found->kept.readings.push_back(std::move(*reading));
  tell_located(call, std::move(*found), entered_told, std::move(respond));
}

}  // namespace coilward
