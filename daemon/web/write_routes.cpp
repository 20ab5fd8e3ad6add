#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>

#include "daemon/alerts/quiet_hours.h"
#include "daemon/web/api_route.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

Result<std::string> text_member(const Json& body, const char* key) {
  const auto it = body.find(key);
  if (it == body.end() || it->is_null()) return std::string();
  if (!it->is_string() || it->get_ref<const std::string&>().size() > 1000)
    return Error{Cause::bad_input, fmt::format("{} is not a text of at most 1000 bytes", key)};
  return it->get<std::string>();
}

// Whose name stands in the record.
Result<std::string> by_member(const Call& call) {
  const auto by = text_member(call.body, "by");
  return by ? acting(call.visitor, *by) : by;
}

// nullopt: not given.
Result<std::optional<int>> zone_member(const Call& call) {
  const auto it = call.body.find("zone");
  if (it == call.body.end() || it->is_null()) return std::optional<int>();
  const bool whole = it->is_number_integer();
  const auto number = whole ? it->get<std::int64_t>() : -1;
  if (number < 0 || number > kMaxZone)
    return Error{Cause::bad_input,
                 fmt::format("zone is {}: allowed is 0 (master) to {}", it->dump(), kMaxZone)};
  if (!call.site.config().zone(static_cast<int>(number)))
    return Error{Cause::not_found, fmt::format("the site has no zone {}", number)};
  return std::optional<int>(static_cast<int>(number));
}

Result<PauseScope> scope_of(const Call& call) {
  const auto zone = zone_member(call);
  if (!zone) return zone.error();
  return *zone ? PauseScope::only(**zone) : PauseScope::site();
}

Json scope_json(PauseScope scope) { return scope.is_site() ? Json(nullptr) : Json(scope.zone); }

// "until" is an instant, "for" a length; one of them.
Result<UtcTime> pause_end(const Call& call) {
  const auto until = text_member(call.body, "until"), length = text_member(call.body, "for");
  if (!until) return until.error();
  if (!length) return length.error();
  if (until->empty() == length->empty())
    return Error{Cause::bad_input, "give one of for (\"2h\") and until (\"2026-05-04T18:00:00Z\")"};
  const auto instant = parse_rfc3339(*until);
  if (instant) return *instant;
  const auto duration = parse_duration(*length);
  if (duration) return call.site.now() + *duration;
  return Error{Cause::bad_input,
               fmt::format("'{}' is neither an instant nor a length of time", *until + *length)};
}

// The end of a snooze; kNever: none was asked for.
Result<UtcTime> snooze_end(const Call& call) {
  const auto until = text_member(call.body, "until"), length = text_member(call.body, "for");
  if (!until) return until.error();
  if (!length) return length.error();
  if (until->empty() && length->empty()) return kNever;
  if (*until == "morning" && length->empty())
    return next_at(kMorning, call.site.now(), call.site.config().site.timezone);
  return pause_end(call);
}

Result<RepairTarget> repair_target(const Call& call) {
  const auto zone = zone_member(call);
  const auto common = text_member(call.body, "common");
  if (!zone) return zone.error();
  if (!common) return common.error();
  if (zone->has_value() != common->empty())
    return Error{Cause::bad_input, "give one of zone (4) and common (\"main\")"};
  return *zone ? RepairTarget(**zone) : RepairTarget(*common);
}

Json target_json(const RepairTarget& target) {
  if (const int* zone = std::get_if<int>(&target)) return {{"zone", *zone}, {"common", nullptr}};
  return {{"zone", nullptr}, {"common", std::get<std::string>(target)}};
}

}  // namespace

ApiResponse post_acknowledge(const Call& call) {
  const auto by = by_member(call);
  const auto until = snooze_end(call);
  if (!by || !until) return problem(by ? until.error() : by.error());
  return respond_with(
      call.site.acknowledge(call.args[0], *by, *until),
      {{"finding", call.args[0]}, {"acknowledged", true}, {"by", *by}, {"until", time_or_null(*until)}});
}

ApiResponse post_pause(const Call& call) {
  const auto scope = scope_of(call);
  if (!scope) return problem(scope.error());
  const auto until = pause_end(call);
  if (!until) return problem(until.error());
  const auto by = by_member(call), reason = text_member(call.body, "reason");
  if (!by || !reason) return problem(by ? reason.error() : by.error());
  return respond_with(
      call.site.pause(*until, *scope, *by, *reason),
      {{"paused", true}, {"zone", scope_json(*scope)}, {"until", time_or_null(*until)}, {"by", *by}});
}

ApiResponse post_resume(const Call& call) {
  const auto scope = scope_of(call);
  const auto by = by_member(call);
  if (!scope || !by) return problem(scope ? by.error() : scope.error());
  return respond_with(call.site.resume(*scope, *by),
                      {{"paused", false}, {"zone", scope_json(*scope)}, {"by", *by}});
}

ApiResponse post_repaired(const Call& call) {
  const auto target = repair_target(call);
  const auto by = by_member(call);
  if (!target || !by) return problem(target ? by.error() : target.error());
  const Json new_coil = call.body.value("new_coil", Json(false));
  if (!new_coil.is_boolean()) return problem({Cause::bad_input, "new_coil is true or false"});
  Json json = {{"repaired", true}};
  json.update(target_json(*target));
  json["new_coil"] = new_coil;
  json["by"] = *by;
  return respond_with(call.site.repaired(*target, new_coil.get<bool>(), *by), json);
}

void post_test_alert(const Call& call, Respond respond) {
  const auto notifier = text_member(call.body, "notifier");
  if (!notifier || notifier->empty())
    return respond(problem({Cause::bad_input, "give notifier, the name of one of the configured ones"}));
  call.site.test_alert(*notifier, as_json(std::move(respond)));
}

void post_backup(const Call& call, Respond respond) {
  const auto directory = text_member(call.body, "directory");
  if (!directory || !directory->starts_with('/'))
    return respond(problem({Cause::bad_input, "give directory, an absolute path that does not exist yet"}));
  call.site.backup(*directory, as_json(std::move(respond)));
}

}  // namespace coilward
