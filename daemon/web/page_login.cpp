// The way in: logging in and out, and the first set-up.
#include <fmt/format.h>

#include "daemon/login/logins.h"
#include "daemon/web/api_route.h"
#include "daemon/web/cookies.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"
#include "daemon/web/page_frame.h"

namespace coilward {
namespace {

constexpr int kWrongStatus = 403, kWaitStatus = 429;

Attempt attempt_of(const Call& call) {
  const Asker& asker = call.request.asker;
  return {call.field("name"), call.field("password"), asker.address,
          cookie_value(asker.cookies, kKnownCookie, asker.secure)};
}

ApiResponse login_page(const Call& call, const std::string& name, const std::string& next,
                       const std::string& wrong, int status) {
  PageParts parts{"Log in", log_in_part(call.token, name, next, wrong)};
  parts.live = false;
  parts.main +=
      "<p class=\"soft\">Forgotten? Whoever has the machine sets another one there: <code>coilward person "
      "password NAME</code>.</p>\n";
  return page_response(call, parts, status);
}

ApiResponse set_up_page(const Call& call, const std::string& name, const std::string& wrong, int status) {
  PageParts parts{
      "Set up the login",
      fmt::format(
          "<h1>Set up the login</h1>\n{}<p>From then on the page asks for a login. You will be a technician "
          "of this site, who may do everything here; <code>coilward person</code> lets others in.</p>\n"
          "<form method=\"post\" action=\"/set-up\" class=\"row\">{}<label for=\"code\">Code, which "
          "<code>coilward person list</code> on the machine tells</label><input id=\"code\" name=\"code\" "
          "maxlength=\"20\" autocomplete=\"one-time-code\" autocapitalize=\"characters\" required>"
          "{}{}{}<button>Set it up</button></form>\n",
          wrong_part(wrong), token_field(call), person_field(name), new_password_fields(), kPasswordRule)};
  parts.live = false;
  return page_response(call, parts, status);
}

ApiResponse nobody_there(const Call& call) {
  const bool damaged = call.logins && !call.logins->damaged().empty();
  return problem_page(
      call, problem({damaged ? Cause::world : Cause::conflict,
                     damaged ? "the file of who may come in cannot be read: on the machine, `coilward person "
                               "add` begins a new one"
                             : "nobody has a password yet"}));
}

int status_for(const LoginAnswer& answer) { return answer.wait.count() > 0 ? kWaitStatus : kWrongStatus; }

}  // namespace

ApiResponse get_login_page(const Call& call) {
  if (!call.logins || !call.logins->anybody()) return nobody_there(call);
  return login_page(call, {}, call.query("next"), {}, 200);
}

void act_log_in(const Call& call, Respond respond) {
  if (!call.logins || !call.logins->anybody()) return respond(nobody_there(call));
  const auto kept = std::make_shared<KeptCall>(call);
  if (call.visitor.is_person()) call.logins->log_out(call.visitor.secret, [](const Result<bool>&) {});
  call.logins->log_in(attempt_of(call), [kept, respond = std::move(respond)](const LoginAnswer& answer) {
    const Call& asked = kept->call;
    const std::string next = asked.field("next");
    if (!answer.session.empty())
      return respond(let_in_response(asked, answer, is_local_path(next) ? next : "/"));
    respond(waiting(login_page(asked, asked.field("name"), next, answer.wrong, status_for(answer)), answer));
  });
}

void act_log_out(const Call& call, Respond respond) {
  const bool secure = call.request.asker.secure;
  call.logins->log_out(call.visitor.secret, [secure, respond = std::move(respond)](const Result<bool>&) {
    ApiResponse response = see_other("/login?said=logged-out");
    response.fields.emplace_back("Set-Cookie",
                                 set_cookie(kSessionCookie, "", std::chrono::seconds{0}, secure));
    respond(std::move(response));
  });
}

ApiResponse get_set_up_page(const Call& call) {
  if (!call.logins) return nobody_there(call);
  if (!call.logins->anybody()) return set_up_page(call, {}, {}, 200);
  return problem_page(call, problem({Cause::conflict, "somebody is set up already: log in"}));
}

void act_set_up(const Call& call, Respond respond) {
  if (!call.logins || call.logins->anybody()) return respond(get_set_up_page(call));
  if (call.field("password") != call.field("again"))
    return respond(set_up_page(call, call.field("name"), kNotTheSame, kWrongStatus));
  const auto kept = std::make_shared<KeptCall>(call);
  call.logins->set_up(
      attempt_of(call), call.field("code"), [kept, respond = std::move(respond)](const LoginAnswer& answer) {
        const Call& asked = kept->call;
        if (!answer.session.empty()) return respond(let_in_response(asked, answer, "/"));
        respond(waiting(set_up_page(asked, asked.field("name"), answer.wrong, status_for(answer)), answer));
      });
}

}  // namespace coilward
