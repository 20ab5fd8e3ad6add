// The way in, and a person's own.
#include <fmt/format.h>

#include "daemon/fleet/server/fleet_frame.h"
#include "daemon/web/cookies.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"

namespace coilward {
namespace {

constexpr int kNotLetInStatus = 403, kWaitFirstStatus = 429;

Logins::Attempt attempt_in(const FleetCall& call, const std::string& name, const char* password_field) {
  const Asker& asker = call.request.asker;
  return {name, call.field(password_field), asker.address,
          cookie_value(asker.cookies, kKnownCookie, asker.secure)};
}

int status_of_answer(const LoginAnswer& answer) {
  return answer.wait.count() > 0 ? kWaitFirstStatus : kNotLetInStatus;
}

ApiResponse fleet_login_page(const FleetCall& call, const std::string& wrong, int status) {
  const std::string next = call.request.method == "POST" ? call.field("next") : call.query("next");
  PageParts parts{"Log in", log_in_part(call.visitor.token, call.field("name"), next, wrong)};
  if (call.query("said") == "logged-out") parts.main = said_words("You are logged out.") + parts.main;
  parts.main +=
      "<p class=\"soft\">Forgotten? Whoever has the server sets another one there: <code>coilward person "
      "password NAME --config FILE</code>.</p>\n";
  return fleet_document(call, std::move(parts), status);
}

Error nobody_yet() {
  return {
      Cause::conflict,
      "nobody has a password yet: `coilward person add NAME --config FILE` on the server makes the first"};
}

Result<ApiResponse> fleet_account_page(FleetCall& call, const std::string& wrong, int status) {
  const auto sessions = call.door->sessions(call.visitor);
  if (!sessions) return sessions.error();
  const FleetVisitor& visitor = call.visitor;
  PageParts parts{"Your account", {}};
  if (call.query("said") == "changed")
    parts.main = said_words("The new password counts from now on. Everywhere else you are logged out.");
  if (call.query("said") == "elsewhere") parts.main = said_words("Logged out everywhere else.");
  parts.main += fmt::format(
      "<p class=\"kicker\">{}, {}</p>\n<h1>Your account</h1>\n<form method=\"post\" action=\"/logout\" "
      "class=\"row\">{}<button>Log out here</button></form>\n",
      html(visitor.name), fleet_role_name(visitor.role), token_input(visitor.token));
  if (*sessions > 1)
    parts.main += fmt::format(
        "<form method=\"post\" action=\"/account/log-out-elsewhere\" class=\"row\">{}<p>You are logged in at "
        "{} "
        "places.</p><button>Log out everywhere else</button></form>\n",
        token_input(visitor.token), *sessions);
  parts.main += change_password_part(visitor.token, visitor.name, wrong);
  return fleet_document(call, std::move(parts), status);
}

}  // namespace

Result<ApiResponse> get_fleet_login(FleetCall& call) {
  if (!call.visitor.anybody) return nobody_yet();
  return fleet_login_page(call, {}, 200);
}

Result<ApiResponse> act_fleet_log_in(FleetCall& call) {
  if (!call.visitor.anybody) return nobody_yet();
  const auto answer = call.door->log_in(attempt_in(call, call.field("name"), "password"));
  if (!answer) return answer.error();
  if (answer->session.empty())
    return waiting(fleet_login_page(call, answer->wrong, status_of_answer(*answer)), *answer);
  if (call.visitor.is_person()) (void)call.door->log_out(call.visitor.secret);
  const std::string next = call.field("next");
  return let_in_response(call.request.asker.secure, *answer, is_local_path(next) ? next : "/");
}

Result<ApiResponse> act_fleet_log_out(FleetCall& call) {
  if (auto out = call.door->log_out(call.visitor.secret); !out) return out.error();
  ApiResponse response = see_other("/login?said=logged-out");
  response.fields.emplace_back(
      "Set-Cookie", set_cookie(kSessionCookie, "", std::chrono::seconds{0}, call.request.asker.secure));
  return response;
}

Result<ApiResponse> get_fleet_account(FleetCall& call) { return fleet_account_page(call, {}, 200); }

Result<ApiResponse> act_fleet_password(FleetCall& call) {
  if (call.field("password") != call.field("again")) return fleet_account_page(call, kNotTheSame, 403);
  const auto answer = call.door->change_password(call.visitor, attempt_in(call, call.visitor.name, "old"),
                                                 call.field("password"));
  if (!answer) return answer.error();
  if (!answer->session.empty())
    return let_in_response(call.request.asker.secure, *answer, "/account?said=changed");
  auto page = fleet_account_page(call, answer->wrong, status_of_answer(*answer));
  return page ? Result<ApiResponse>(waiting(std::move(*page), *answer)) : page;
}

Result<ApiResponse> act_fleet_log_out_elsewhere(FleetCall& call) {
  if (auto out = call.door->log_out_elsewhere(call.visitor); !out) return out.error();
  return see_other("/account?said=elsewhere");
}

}  // namespace coilward
