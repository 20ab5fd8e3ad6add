// A person's own: the password, and where they are logged in.
#include <fmt/format.h>

#include "daemon/login/login_book.h"
#include "daemon/login/secret.h"
#include "daemon/web/cookies.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"
#include "daemon/web/page_frame.h"

namespace coilward {
namespace {

std::string sessions_part(const Call& call) {
  const Config& config = call.site.config();
  const UtcTime now = call.site.now();
  const std::string here = kept_form(call.visitor.secret);
  const auto sessions = call.logins->sessions(call.visitor.name);
  std::string out =
      "<section><h2>Where you are logged in</h2>\n<table><thead><tr><th scope=\"col\">From</th><th "
      "scope=\"col\">Since</th><th scope=\"col\">Last used</th></tr></thead><tbody>\n";
  for (const LoginSession& session : sessions)
    out += fmt::format("<tr><th scope=\"row\">{}{}</th><td>{}</td><td>{}</td></tr>\n",
                       html(session.from.empty() ? "–" : session.from),
                       session.kept == here ? " <span class=\"strong\">(here)</span>" : "",
                       short_time_tag(session.since, now, config), short_time_tag(session.seen, now, config));
  out += "</tbody></table>\n";
  if (sessions.size() > 1)
    out += fmt::format(
        "<form method=\"post\" action=\"/account/log-out-elsewhere\" class=\"row\">{}<button>Log out "
        "everywhere else</button></form>\n",
        token_field(call));
  return out +
         "<p class=\"soft\">A login that nobody uses ends after 14 days, any after 90. The last use is "
         "noted every few hours.</p></section>\n";
}

ApiResponse account_page(const Call& call, const std::string& wrong, int status) {
  PageParts parts{
      "Your account",
      fmt::format(
          "<p class=\"kicker\">{}</p>\n<h1>Your account</h1>\n<form method=\"post\" action=\"/logout\" "
          "class=\"row\">{}<button>Log out here</button></form>\n{}{}",
          html(call.visitor.name), token_field(call), sessions_part(call),
          change_password_part(call.token, call.visitor.name, wrong))};
  parts.live = false;
  return page_response(call, parts, status);
}

}  // namespace

ApiResponse get_account_page(const Call& call) { return account_page(call, {}, 200); }

void act_change_password(const Call& call, Respond respond) {
  if (call.field("password") != call.field("again")) return respond(account_page(call, kNotTheSame, 403));
  const auto kept = std::make_shared<KeptCall>(call);
  const Asker& asker = call.request.asker;
  call.logins->change_password(
      {call.visitor.name, call.field("old"), asker.address,
       cookie_value(asker.cookies, kKnownCookie, asker.secure)},
      call.field("password"), call.visitor.secret,
      [kept, respond = std::move(respond)](const LoginAnswer& answer) {
        if (!answer.session.empty())
          return respond(let_in_response(kept->call, answer, "/account?said=changed"));
        respond(waiting(account_page(kept->call, answer.wrong, answer.wait.count() > 0 ? 429 : 403), answer));
      });
}

void act_log_out_elsewhere(const Call& call, Respond respond) {
  call.logins->log_out_elsewhere(
      call.visitor.name, call.visitor.secret,
      [respond = std::move(respond)](const Result<bool>&) { respond(see_other("/account?said=elsewhere")); });
}

}  // namespace coilward
