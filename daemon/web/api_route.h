// Inside the API: what a handler is given, and the table of them. The folder's own header.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/web/api.h"
#include "daemon/web/form_guard.h"
#include "daemon/web/gate.h"

namespace coilward {

struct Call {
  SiteAccess& site;
  const ApiRequest& request;
  std::vector<std::string> args;  // what stands in the {} of the pattern, in order
  std::string token = {};         // of our own forms
  Visitor visitor = {};
  Logins* logins = nullptr;
  Json body = Json::object();  // POST: an object with known members only
  FormFields form = {};        // POST of a page: known fields only
  std::string_view file = {};  // of a form that has one; within the request's body; empty: none was chosen

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

// A call for what answers later, when its request is gone.
struct KeptCall {
  explicit KeptCall(const Call& c)
      : request(c.request), call{c.site, request, c.args, c.token, c.visitor, c.logins, c.body, c.form} {}
  KeptCall(const KeptCall&) = delete;
  const ApiRequest request;
  const Call call;
};

enum class Face : std::uint8_t { api, page };  // JSON for programs, HTML and forms for people

struct RouteEntry {
  std::string_view method;
  std::string_view pattern;
  Need need;              // stands before the keys, so that a route without one does not compile
  std::string_view keys;  // of the query (GET) or of the body (POST), separated by blanks; others are errors
  ApiResponse (*now)(const Call&) = nullptr;
  void (*later)(const Call&, Respond) = nullptr;  // for what takes time
  Face face = Face::api;
  std::size_t upload_bytes = 0;  // a form with a file, of a body up to so many; 0: without
};

// route_table.cpp: all there are.
std::span<const RouteEntry> route_table();

// The texts in the place of {..} in a pattern; nullopt: another path.
std::optional<std::vector<std::string>> match_path(std::string_view pattern, std::string_view path);

ApiResponse json_response(const Json& json, int status = 200);
template <class T>
ApiResponse respond_with(const Result<T>& result, const Json& json) {
  return result ? json_response(json) : problem(result.error());
}
// The answer of what takes time.
JsonCallback as_json(Respond respond);

// read_routes.cpp
ApiResponse get_site(const Call& call);
ApiResponse get_zones(const Call& call);
ApiResponse get_zone(const Call& call);
ApiResponse get_zone_now(const Call& call);  // page_zone_live.cpp
ApiResponse get_findings(const Call& call);
ApiResponse get_finding(const Call& call);
ApiResponse get_finding_changes(const Call& call);
ApiResponse get_health(const Call& call);
ApiResponse get_healthz(const Call& call);
ApiResponse get_openapi(const Call& call);
// locate_routes.cpp
void get_places(const Call& call, Respond respond);
void get_test_readings(const Call& call, Respond respond);
void post_test_reading(const Call& call, Respond respond);
// history_routes.cpp
ApiResponse get_zone_history(const Call& call);
ApiResponse get_history(const Call& call);
ApiResponse get_runs(const Call& call);
ApiResponse get_export(const Call& call);
// write_routes.cpp
ApiResponse post_acknowledge(const Call& call);
ApiResponse post_pause(const Call& call);
ApiResponse post_resume(const Call& call);
ApiResponse post_repaired(const Call& call);
void post_test_alert(const Call& call, Respond respond);
void post_backup(const Call& call, Respond respond);
// metrics.cpp, live_events.cpp, assets.cpp
ApiResponse get_metrics(const Call& call);
ApiResponse metrics_response(const std::vector<Metric>& metrics);
ApiResponse get_events(const Call& call);
ApiResponse get_asset(const Call& call);
ApiResponse get_worker(const Call& call);
ApiResponse get_manifest(const Call& call);
// page_site.cpp, page_zone.cpp, page_zone_live.cpp, page_finding.cpp
ApiResponse get_page(const Call& call);
ApiResponse get_zone_page(const Call& call);
ApiResponse get_zone_live_page(const Call& call);
void get_finding_page(const Call& call, Respond respond);
// page_test_run.cpp
ApiResponse get_test_run_page(const Call& call);
ApiResponse act_test_run(const Call& call);
ApiResponse act_test_run_end(const Call& call);
ApiResponse get_test_runs(const Call& call);
// page_actions.cpp
ApiResponse act_acknowledge(const Call& call);
ApiResponse act_pause(const Call& call);
ApiResponse act_resume(const Call& call);
ApiResponse act_repaired(const Call& call);
// page_told.cpp, told_actions.cpp
ApiResponse get_told_page(const Call& call);
void act_test_alert(const Call& call, Respond respond);
ApiResponse act_add_phone(const Call& call);
ApiResponse act_remove_phone(const Call& call);
ApiResponse act_test_reading(const Call& call);  // reading_forms.cpp
// page_login.cpp
ApiResponse get_login_page(const Call& call);
void act_log_in(const Call& call, Respond respond);
void act_log_out(const Call& call, Respond respond);
ApiResponse get_set_up_page(const Call& call);
void act_set_up(const Call& call, Respond respond);
// page_account.cpp
ApiResponse get_account_page(const Call& call);
void act_change_password(const Call& call, Respond respond);
void act_log_out_elsewhere(const Call& call, Respond respond);
// page_share.cpp
ApiResponse get_share_page(const Call& call);
void act_make_share(const Call& call, Respond respond);
void act_end_share(const Call& call, Respond respond);
ApiResponse open_link(const Call& call);
// people_routes.cpp
ApiResponse get_session(const Call& call);
ApiResponse get_people(const Call& call);
void post_person(const Call& call, Respond respond);
void post_password(const Call& call, Respond respond);
void post_remove_person(const Call& call, Respond respond);
ApiResponse get_shares(const Call& call);
void post_share(const Call& call, Respond respond);
void post_end_share(const Call& call, Respond respond);

}  // namespace coilward
