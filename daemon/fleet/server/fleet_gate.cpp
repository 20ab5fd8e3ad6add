#include "daemon/fleet/server/fleet_gate.h"

#include <fmt/format.h>

#include "daemon/web/api_route.h"
#include "daemon/web/login_forms.h"

namespace coilward {
namespace {

// Whether a word stands in a list that blanks separate.
bool stands_in(std::string_view list, std::string_view word) {
  for (std::size_t at = 0; at <= list.size();) {
    const std::size_t end = std::min(list.find(' ', at), list.size());
    if (list.substr(at, end - at) == word) return true;
    at = end + 1;
  }
  return false;
}

template <class Fields>
std::optional<ApiResponse> unknown_field(const Fields& fields, std::string_view keys) {
  for (const auto& [key, value] : fields)
    if (!stands_in(keys, key))
      return problem(
          {Cause::bad_input, fmt::format("'{}' is not known here: allowed {}", key,
                                         keys.empty() ? "is nothing" : "are: " + std::string(keys))});
  return std::nullopt;
}

std::optional<ApiResponse> form_refusal(const FleetRoute& route, FleetCall& call) {
  auto form = parse_form(call.request.body);
  if (!form) return problem(form.error());
  if (auto unknown = unknown_field(*form, route.keys)) return unknown;
  if (!same_token((*form)["token"], call.visitor.token))
    return problem(403, "Not done",
                   "the form is of another login, or not from this page: open the page again");
  call.form = std::move(*form);
  return std::nullopt;
}

// What is for this machine is not there for others.
ApiResponse refusal_of(const FleetRoute& route, const FleetCall& call) {
  if (route.need == FleetNeed::machine) return no_fleet_route({}, call.request);
  if (call.visitor.kind != FleetVisitor::Kind::stranger)
    return problem(403, "Not for you",
                   route.need == FleetNeed::person ? "nobody is logged in here"
                   : route.need == FleetNeed::assign
                       ? "who goes where is the contractor's to say"
                       : "this is for those who look after the site: ask one of them");
  return route.page ? see_other(login_path(call.request))
                    : problem(401, "Log in first", "this needs a login");
}

}  // namespace

FleetRouteFound find_fleet_route(const ApiRequest& request) {
  const std::string_view method = request.method == "HEAD" ? "GET" : std::string_view(request.method);
  FleetRouteFound found;
  for (const FleetRoute& route : fleet_routes()) {
    auto args = match_path(route.pattern, request.path);
    if (!args) continue;
    if (route.method == method) return {&route, std::move(*args), {}};
    found.allow += (found.allow.empty() ? "" : ", ") + std::string(route.method);
  }
  return found;
}

ApiResponse no_fleet_route(const FleetRouteFound& found, const ApiRequest& request) {
  ApiResponse response = found.allow.empty()
                             ? problem(404, "There is no such thing", "no such path: " + request.path)
                             : problem(405, "Method not allowed", "allowed here: " + found.allow);
  response.allow = found.allow;
  return response;
}

std::optional<ApiResponse> turned_away_from(const FleetRoute& route, FleetCall& call) {
  if (!call.visitor.may(route.need)) return refusal_of(route, call);
  const bool post = route.method == "POST";
  if (auto unknown = unknown_field(call.request.query, post ? "" : route.keys)) return unknown;
  return post ? form_refusal(route, call) : std::nullopt;
}

}  // namespace coilward
