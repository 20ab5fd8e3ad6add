#include "daemon/web/api.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>

#include "daemon/web/api_route.h"
#include "daemon/web/multipart.h"
#include "daemon/web/page_frame.h"

namespace coilward {
namespace {

constexpr std::string_view kProblemType = "application/problem+json";
constexpr std::string_view kNoToken =
    "over TCP whoever acts sends the session's token (GET /api/v1/session) in X-Coilward-Token; `coilward` "
    "uses the Unix socket";

std::string_view next_part(std::string_view& rest, char separator) {
  const std::size_t end = std::min(rest.find(separator), rest.size());
  const std::string_view part = rest.substr(0, end);
  rest.remove_prefix(std::min(end + 1, rest.size()));
  return part;
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
  if (response.content_type == kProblemType) response = problem_page(call, response);
  respond(std::move(response));
}

void run(const RouteEntry& route, Call call, const Respond& respond) {
  if (route.face == Face::page) return run_page(route, std::move(call), respond);
  const bool post = route.method == "POST";
  if (auto error = check_query(call.request, post ? "" : route.keys)) return respond(problem(*error));
  if (post && call.visitor.kind != VisitorKind::local && !same_token(call.request.asker.token, call.token))
    return respond(problem(403, "Not done", kNoToken));
  if (post) {
    auto body = read_body(call.request, route.keys);
    if (!body) return respond(problem(body.error()));
    call.body = std::move(*body);
  }
  if (route.later) return route.later(call, respond);
  ApiResponse response = route.now(call);
  if (response.live)
    response.welcome = [logins = call.logins, asker = call.request.asker, need = route.need] {
      return visitor_of(asker, logins).may(need);
    };
  respond(std::move(response));
}

void enter(const RouteEntry& route, Call call, const Respond& respond) {
  if (auto away = turned_away(route, call)) return respond(std::move(*away));
  run(route, std::move(call), respond);
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
  return problem_for(call, problem(404, "There is no such thing", "no such path: " + call.request.path));
}

}  // namespace

std::optional<std::vector<std::string>> match_path(std::string_view pattern, std::string_view path) {
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

Api::Api(SiteAccess& site, Logins* logins) : site_(site), logins_(logins), token_(make_form_token()) {}

void Api::handle(const ApiRequest& request, Respond respond) {
  const std::string_view method = request.method == "HEAD" ? "GET" : std::string_view(request.method);
  const Visitor visitor = visitor_of(request.asker, logins_);
  Call call{site_, request, {}, form_token(visitor, token_), visitor, logins_};
  std::string allow;
  for (const RouteEntry& route : route_table()) {
    auto args = match_path(route.pattern, request.path);
    if (!args) continue;
    call.args = std::move(*args);
    if (route.method == method) return enter(route, std::move(call), respond);
    allow += allow.empty() ? std::string(route.method) : ", " + std::string(route.method);
  }
  if (allow.empty()) return respond(nowhere(call));
  ApiResponse response = problem(405, "Method not allowed", "allowed here: " + allow);
  response.allow = allow;
  respond(std::move(response));
}

std::vector<Route> Api::routes() {
  std::vector<Route> routes;
  for (const RouteEntry& route : route_table())
    routes.push_back(
        {std::string(route.method), std::string(route.pattern), route.need, std::string(route.keys)});
  return routes;
}

std::size_t Api::body_bytes(std::string_view method, std::string_view path) {
  for (const RouteEntry& route : route_table())
    if (route.upload_bytes > 0 && route.method == method && match_path(route.pattern, path))
      return route.upload_bytes;
  return 0;
}

std::size_t Api::largest_body_bytes() {
  std::size_t largest = 0;
  for (const RouteEntry& route : route_table()) largest = std::max(largest, route.upload_bytes);
  return largest;
}

ApiResponse problem(int status, std::string_view title, std::string_view detail) {
  const Json json = {{"type", "about:blank"}, {"title", title}, {"status", status}, {"detail", detail}};
  ApiResponse response{status, std::string(kProblemType)};
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

JsonCallback as_json(Respond respond) {
  return [respond = std::move(respond)](const Result<Json>& result) {
    respond(result ? json_response(*result) : problem(result.error()));
  };
}

}  // namespace coilward
