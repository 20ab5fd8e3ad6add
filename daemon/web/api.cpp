#include "daemon/web/api.h"

#include <fmt/format.h>

#include <array>
#include <nlohmann/json.hpp>
#include <optional>
#include <ranges>

#include "daemon/web/api_route.h"
#include "daemon/web/commission_routes.h"
#include "daemon/web/multipart.h"
#include "daemon/web/note_routes.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/visit_routes.h"

namespace coilward {
namespace {

constexpr std::string_view kHistoryKeys = "since until every format";

constexpr std::array kRoutes = {
    RouteEntry{"GET", "/", "said", get_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}", "range until lay said", get_zone_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}/live", "said", get_zone_live_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}/test-run", "", get_test_run_page, nullptr, Face::page},
    RouteEntry{"POST", "/zone/{zone}/test-run", "token seconds confirm by", act_test_run, nullptr,
               Face::page},
    RouteEntry{"POST", "/zone/{zone}/test-run/end", "token by", act_test_run_end, nullptr, Face::page},
    RouteEntry{"GET", "/finding/{id}", "said", get_finding_page, nullptr, Face::page},
    RouteEntry{"POST", "/finding/{id}/acknowledge", "token by for", act_acknowledge, nullptr, Face::page},
    RouteEntry{"POST", "/finding/{id}/test-reading",
               "token at volts_on ohms toward source_volts volts_to_earth conductor by", act_test_reading,
               nullptr, Face::page},
    RouteEntry{"POST", "/pause", "token zone for by", act_pause, nullptr, Face::page},
    RouteEntry{"POST", "/resume", "token zone by", act_resume, nullptr, Face::page},
    RouteEntry{"POST", "/repaired", "token zone common new_coil by", act_repaired, nullptr, Face::page},
    RouteEntry{"GET", "/told", "said", get_told_page, nullptr, Face::page},
    RouteEntry{"POST", "/told/{notifier}/test", "token", nullptr, act_test_alert, Face::page},
    RouteEntry{"POST", "/told/{notifier}/phones", "token endpoint p256dh auth label", act_add_phone, nullptr,
               Face::page},
    RouteEntry{"POST", "/told/{notifier}/phones/{phone}/remove", "token", act_remove_phone, nullptr,
               Face::page},
    RouteEntry{"GET", "/worker.js", "", get_worker},
    RouteEntry{"GET", "/app.webmanifest", "", get_manifest},
    RouteEntry{"GET", "/assets/{name}", "v", get_asset},
    RouteEntry{"GET", "/events", "zone", get_events},
    RouteEntry{"GET", "/healthz", "", get_healthz},
    RouteEntry{"GET", "/metrics", "", get_metrics},
    RouteEntry{"GET", "/api/v1/openapi.json", "", get_openapi},
    RouteEntry{"GET", "/api/v1/site", "", get_site},
    RouteEntry{"GET", "/api/v1/zones", "", get_zones},
    RouteEntry{"GET", "/api/v1/zones/{zone}", "", get_zone},
    RouteEntry{"GET", "/api/v1/zones/{zone}/now", "", get_zone_now},
    RouteEntry{"GET", "/api/v1/zones/{zone}/history", kHistoryKeys, get_zone_history},
    RouteEntry{"GET", "/api/v1/history", "channel since until every format", get_history},
    RouteEntry{"GET", "/api/v1/runs", "zone since until format", get_runs},
    RouteEntry{"GET", "/api/v1/export", "what since until format", get_export},
    RouteEntry{"GET", "/api/v1/findings", "all", get_findings},
    RouteEntry{"GET", "/api/v1/findings/{id}", "", get_finding},
    RouteEntry{"GET", "/api/v1/findings/{id}/changes", "", get_finding_changes},
    RouteEntry{"GET", "/api/v1/findings/{id}/places", "", get_places},
    RouteEntry{"GET", "/api/v1/findings/{id}/test-readings", "", get_test_readings},
    RouteEntry{"GET", "/api/v1/test-runs", "", get_test_runs},
    RouteEntry{"GET", "/api/v1/health", "", get_health},
    RouteEntry{"POST", "/api/v1/findings/{id}/acknowledge", "by for until", post_acknowledge},
    RouteEntry{"POST", "/api/v1/findings/{id}/test-readings",
               "at volts_on ohms toward source_volts volts_to_earth conductor by", post_test_reading},
    RouteEntry{"POST", "/api/v1/pause", "for until zone by reason", post_pause},
    RouteEntry{"POST", "/api/v1/resume", "zone by", post_resume},
    RouteEntry{"POST", "/api/v1/repaired", "zone common new_coil by", post_repaired},
    RouteEntry{"POST", "/api/v1/test-alert", "notifier", nullptr, post_test_alert},
    RouteEntry{"POST", "/api/v1/backup", "directory", nullptr, post_backup},
};

// Every table of routes.
constexpr std::span<const RouteEntry> kTables[] = {kRoutes, kVisitRoutes, kNoteRoutes, kCommissionRoutes};

std::string_view next_part(std::string_view& rest, char separator) {
  const std::size_t end = std::min(rest.find(separator), rest.size());
  const std::string_view part = rest.substr(0, end);
  rest.remove_prefix(std::min(end + 1, rest.size()));
  return part;
}

// The texts in the place of {..}; nullopt: another path.
std::optional<std::vector<std::string>> match(std::string_view pattern, std::string_view path) {
  std::vector<std::string> args;
  while (!pattern.empty() || !path.empty()) {
    if (pattern.empty() || path.empty()) return std::nullopt;
    const std::string_view want = next_part(pattern, '/'), have = next_part(path, '/');
    if (want.starts_with('{') && !have.empty())
      args.emplace_back(have);
    else if (want != have)
      return std::nullopt;
  }
  return args;
}

bool known_key(std::string_view keys, std::string_view key) {
  while (!keys.empty())
    if (next_part(keys, ' ') == key) return true;
  return false;
}

Error unknown_key(std::string_view key, std::string_view keys) {
  return {Cause::bad_input,
          fmt::format("'{}' is not known here: allowed {}", key,
                      keys.empty() ? std::string("is nothing") : fmt::format("are: {}", keys))};
}

Result<Json> read_body(const ApiRequest& request, std::string_view keys) {
  if (request.body.empty()) return json_result(Json::object());
  Json body = Json::parse(request.body, nullptr, false);
  if (!body.is_object()) return Error{Cause::bad_input, "the body is not a JSON object"};
  for (const auto& [key, value] : body.items())
    if (!known_key(keys, key)) return unknown_key(key, keys);
  return json_result(std::move(body));
}

std::optional<Error> check_query(const ApiRequest& request, std::string_view keys) {
  for (const auto& [key, value] : request.query)
    if (!known_key(keys, key)) return unknown_key(key, keys);
  return std::nullopt;
}

// Plain fields are an upload without a file.
Result<UploadForm> parse_any_form(const RouteEntry& route, const ApiRequest& request) {
  if (route.upload_bytes > 0) return parse_upload(request.body, request.content_type);
  auto fields = parse_form(request.body);
  if (!fields) return fields.error();
  return UploadForm{std::move(*fields), {}, {}};
}

// A form of ours, or what is wrong with it.
Result<UploadForm> read_form(const RouteEntry& route, const Call& call) {
  auto form = parse_any_form(route, call.request);
  if (!form) return form.error();
  for (const auto& [key, value] : form->fields)
    if (!known_key(route.keys, key)) return unknown_key(key, route.keys);
  if (!form->file_field.empty() && !known_key(route.keys, form->file_field))
    return unknown_key(form->file_field, route.keys);
  return form;
}

// What is wrong with a form that wants to act; its fields are taken in when nothing is.
std::optional<ApiResponse> take_form(const RouteEntry& route, Call& call) {
  auto form = read_form(route, call);
  if (!form) return problem(form.error());
  if (!same_token(form->fields["token"], call.token))
    return problem(403, "Not done",
                   "the form is from before a restart, or not from this page: open the page again");
  call.form = std::move(form->fields);
  call.file = form->file;
  return std::nullopt;
}

std::optional<ApiResponse> page_refusal(const RouteEntry& route, Call& call) {
  if (auto error = check_query(call.request, route.method == "POST" ? "" : route.keys))
    return problem(*error);
  return route.method == "POST" ? take_form(route, call) : std::nullopt;
}

void run_page(const RouteEntry& route, Call call, const Respond& respond) {
  const auto refusal = page_refusal(route, call);
  if (!refusal && route.later) return route.later(call, respond);
  ApiResponse response = refusal ? *refusal : route.now(call);
  if (response.status >= 400) response = problem_page(call, response);
  respond(std::move(response));
}

void run(const RouteEntry& route, Call call, const Respond& respond) {
  if (route.face == Face::page) return run_page(route, std::move(call), respond);
  const bool post = route.method == "POST";
  if (auto error = check_query(call.request, post ? "" : route.keys)) return respond(problem(*error));
  if (post) {
    auto body = read_body(call.request, route.keys);
    if (!body) return respond(problem(body.error()));
    call.body = std::move(*body);
  }
  if (route.later) return route.later(call, respond);
  respond(route.now(call));
}

int status_of(Cause cause) {
  switch (cause) {
    case Cause::bad_input:
      return 400;
    case Cause::not_found:
      return 404;
    case Cause::conflict:
      return 409;
    case Cause::bad_config:
      return 500;
    case Cause::world:
      return 503;
  }
  return 500;
}

std::string_view title_of(Cause cause) {
  switch (cause) {
    case Cause::bad_input:
      return "The request is wrong";
    case Cause::not_found:
      return "There is no such thing";
    case Cause::conflict:
      return "Not possible now";
    case Cause::bad_config:
      return "The configuration is wrong";
    case Cause::world:
      return "A disk or a server failed";
  }
  return "Failed";
}

ApiResponse nowhere(const Call& call) {
  const ApiResponse response = problem(404, "There is no such thing", "no such path: " + call.request.path);
  return call.request.path.starts_with("/api/") ? response : problem_page(call, response);
}

}  // namespace

Api::Api(SiteAccess& site) : site_(site), token_(make_form_token()) {}

void Api::handle(const ApiRequest& request, Respond respond) {
  const std::string_view method = request.method == "HEAD" ? "GET" : std::string_view(request.method);
  std::string allow;
  for (const RouteEntry& route : kTables | std::views::join) {
    auto args = match(route.pattern, request.path);
    if (!args) continue;
    if (route.method == method) return run(route, {site_, request, std::move(*args), token_}, respond);
    allow += allow.empty() ? std::string(route.method) : ", " + std::string(route.method);
  }
  if (allow.empty()) return respond(nowhere({site_, request, {}, token_}));
  ApiResponse response = problem(405, "Method not allowed", "allowed here: " + allow);
  response.allow = allow;
  respond(std::move(response));
}

std::vector<Route> Api::routes() {
  std::vector<Route> routes;
  for (const RouteEntry& route : kTables | std::views::join)
    routes.push_back({std::string(route.method), std::string(route.pattern), std::string(route.keys)});
  return routes;
}

std::size_t Api::body_bytes(std::string_view method, std::string_view path) {
  for (const RouteEntry& route : kTables | std::views::join)
    if (route.upload_bytes > 0 && route.method == method && match(route.pattern, path))
      return route.upload_bytes;
  return 0;
}

std::size_t Api::largest_body_bytes() {
  std::size_t largest = 0;
  for (const RouteEntry& route : kTables | std::views::join) largest = std::max(largest, route.upload_bytes);
  return largest;
}

ApiResponse problem(int status, std::string_view title, std::string_view detail) {
  const Json json = {{"type", "about:blank"}, {"title", title}, {"status", status}, {"detail", detail}};
  ApiResponse response{status, "application/problem+json"};
  response.body = json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
  return response;
}

ApiResponse problem(const Error& error) {
  return problem(status_of(error.cause), title_of(error.cause), error.what);
}

// Names and summaries may hold bytes that are not UTF-8 when a configuration or sensor had them: an answer
// with a replacement character is better than none.
ApiResponse json_response(const Json& json, int status) {
  ApiResponse response{status};
  response.body = json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
  return response;
}

}  // namespace coilward
