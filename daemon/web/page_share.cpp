// Links that show the site to whoever has them, change nothing and end by themselves.
#include <fmt/format.h>

#include "daemon/web/cookies.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/people_desk.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kDayChoices[] = {1, 7, 14, 31};

std::string days_field() {
  std::string out = "<label for=\"days\">Until</label><select id=\"days\" name=\"days\">";
  for (const int days : kDayChoices)
    out += fmt::format("<option value=\"{0}\"{1}>{0} day{2} from now</option>", days,
                       days == kShareDays ? " selected" : "", days == 1 ? "" : "s");
  return out + "</select>";
}

std::string link_item(const ShareLink& link, const Call& call) {
  const Config& config = call.site.config();
  return fmt::format(
      "<li class=\"card fine\"><form method=\"post\" action=\"/share/{}/end\" class=\"row\">{}<p "
      "class=\"strong\">{}</p><p class=\"soft\">Until {}. Made {}{}.</p><button>End this "
      "link</button></form></li>\n",
      link.id, token_field(call), html(link.label.empty() ? "Without a name" : link.label),
      time_tag(link.until, config), time_tag(link.since, config),
      link.by.empty() ? "" : " by " + html(link.by));
}

std::string links_part(const Call& call) {
  const auto links = call.logins->shares();
  if (links.empty()) return "<p>There is no link at the moment.</p>\n";
  std::string out = "<ul class=\"cards\">\n";
  for (const ShareLink& link : links) out += link_item(link, call);
  return out + "</ul>\n";
}

// The secret is only here: what is kept of it does not lead back.
std::string made_part(const Call& call, const std::string& path) {
  const Asker& asker = call.request.asker;
  const std::string address =
      asker.host.empty() ? path : fmt::format("{}://{}{}", asker.secure ? "https" : "http", asker.host, path);
  return fmt::format(
      "<div class=\"said\" role=\"status\"><p>Here is the link. Copy it now, it is not shown again:</p>\n<p "
      "class=\"break\"><a href=\"{0}\"><code>{0}</code></a></p>\n<p>Whoever has it sees the "
      "site.</p></div>\n",
      html(address));
}

ApiResponse share_page(const Call& call, const std::string& news, int status) {
  PageParts parts{
      "Share a read-only link",
      fmt::format(
          "<h1>Share a read-only link</h1>\n{}<p>It shows the pages of this site, changes nothing and "
          "ends by itself.</p>\n<form method=\"post\" action=\"/share\" class=\"row\">{}<label "
          "for=\"label\">Whom it is for</label><input id=\"label\" name=\"label\" maxlength=\"60\" "
          "autocomplete=\"off\">{}<button>Make a link</button></form>\n<section><h2>Links that "
          "open</h2>\n{}</section>\n",
          news, token_field(call), days_field(), links_part(call))};
  parts.live = false;
  return page_response(call, parts, status);
}

ApiResponse no_logins(const Call& call) {
  return problem_page(call, problem({Cause::conflict, "links are made where the daemon runs"}));
}

}  // namespace

ApiResponse get_share_page(const Call& call) {
  return call.logins ? share_page(call, {}, 200) : no_logins(call);
}

void act_make_share(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_logins(call));
  const auto days = parse_number(call.field("days"), 1, kMostShareDays, "days");
  if (!days) return respond(share_page(call, wrong_part("No: " + days.error().what + "."), 400));
  const auto kept = std::make_shared<KeptCall>(call);
  call.logins->make_share(call.field("label"), call.visitor.name, *days,
                          [kept, respond = std::move(respond)](const Result<std::string>& secret) {
                            respond(share_page(kept->call,
                                               secret ? made_part(kept->call, link_path(*secret))
                                                      : wrong_part("No: " + secret.error().what + "."),
                                               secret ? 200 : 409));
                          });
}

void act_end_share(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_logins(call));
  const auto kept = std::make_shared<KeptCall>(call);
  call.logins->revoke_share(call.args[0], [kept, respond = std::move(respond)](const Result<bool>& done) {
    respond(done ? see_other("/share?said=ended") : problem_page(kept->call, problem(done.error())));
  });
}

// The secret goes into a cookie, and out of the address.
ApiResponse open_link(const Call& call) {
  const ShareLink* link = call.logins ? call.logins->share(call.args[0]) : nullptr;
  if (!link)
    return problem_page(call, problem(404, "This link is over",
                                      "it opened a site for a time: ask whoever gave it to you for another"));
  ApiResponse response = see_other("/");
  response.fields.emplace_back(
      "Set-Cookie",
      set_cookie(kLinkCookie, call.args[0],
                 std::chrono::duration_cast<std::chrono::seconds>(link->until - call.logins->now()),
                 call.request.asker.secure));
  return response;
}

}  // namespace coilward
