// What the forms of the pages do. Each shows the page again with a word about what was done (POST, redirect,
// GET), so that coming back does not do it twice. That a form is ours was checked by its token before
// (api.cpp), and by the browser's own word of where it came from (http_request.h).
#include <fmt/format.h>

#include "daemon/alerts/quiet_hours.h"
#include "daemon/web/api_route.h"
#include "daemon/web/html.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr const char* kAtThePage = "someone at the page";
constexpr std::size_t kLongestName = 60;

ApiResponse go_on(std::string path, std::string_view said) {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = std::move(path) + "?said=" + std::string(said);
  return response;
}

std::string who(const Call& call) {
  const std::string by = acting(call.visitor, call.field("by"));
  return by.empty() ? kAtThePage : short_text(by, kLongestName);
}

// nullopt: none was named.
Result<std::optional<int>> zone_field(const Call& call) {
  if (call.field("zone").empty()) return std::optional<int>();
  const auto number = parse_number(call.field("zone"), 0, kMaxZone, "zone");
  if (!number) return number.error();
  if (!call.site.config().zone(*number))
    return Error{Cause::not_found, fmt::format("the site has no zone {}", *number)};
  return std::optional<int>(*number);
}

std::string path_of(const std::optional<int>& zone) { return zone ? zone_path(*zone) : "/"; }
PauseScope scope_from(const std::optional<int>& zone) {
  return zone ? PauseScope::only(*zone) : PauseScope::site();
}

// "", "over": until it is over; "morning"; a length.
Result<UtcTime> form_snooze_end(const Call& call) {
  const std::string length = call.field("for");
  if (length.empty() || length == "over") return kNever;
  if (length == "morning") return next_at(kMorning, call.site.now(), call.site.config().site.timezone);
  const auto duration = parse_duration(length);
  if (!duration) return Error{Cause::bad_input, fmt::format("'{}' is no length of time", length)};
  return call.site.now() + *duration;
}

}  // namespace

ApiResponse act_acknowledge(const Call& call) {
  const auto until = form_snooze_end(call);
  if (!until) return problem(until.error());
  const auto done = call.site.acknowledge(call.args[0], who(call), *until);
  return done ? go_on("/finding/" + percent_encoded(call.args[0]), "acknowledged") : problem(done.error());
}

ApiResponse act_pause(const Call& call) {
  const auto zone = zone_field(call);
  if (!zone) return problem(zone.error());
  const auto length = parse_duration(call.field("for"));
  if (!length)
    return problem({Cause::bad_input, fmt::format("'{}' is no length of time", call.field("for"))});
  const auto done = call.site.pause(call.site.now() + *length, scope_from(*zone), who(call), {});
  return done ? go_on(path_of(*zone), "paused") : problem(done.error());
}

ApiResponse act_resume(const Call& call) {
  const auto zone = zone_field(call);
  if (!zone) return problem(zone.error());
  const auto done = call.site.resume(scope_from(*zone), who(call));
  return done ? go_on(path_of(*zone), "resumed") : problem(done.error());
}

ApiResponse act_repaired(const Call& call) {
  const auto zone = zone_field(call);
  if (!zone) return problem(zone.error());
  const std::string common = call.field("common");
  if (zone->has_value() != common.empty()) return problem({Cause::bad_input, "give one of zone and common"});
  const auto done = call.site.repaired(*zone ? RepairTarget(**zone) : RepairTarget(common),
                                       !call.field("new_coil").empty(), who(call));
  return done ? go_on(path_of(*zone), "repaired") : problem(done.error());
}

}  // namespace coilward
