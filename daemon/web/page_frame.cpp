#include "daemon/web/page_frame.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/login/role.h"
#include "daemon/web/assets.h"
#include "daemon/web/html.h"
#include "daemon/web/live_events.h"
#include "daemon/web/login_forms.h"

namespace coilward {
namespace {

// Our own symbols, each of a shape of its own, so that colour is never what tells them apart. A symbol's name
// is that of the kinds in page_words.h.
constexpr std::string_view kSymbols = R"svg(<svg class="symbols" aria-hidden="true" focusable="false"><defs>
<symbol id="i-fine" viewBox="0 0 24 24"><circle class="rim" cx="12" cy="12" r="9"/><path class="rim" d="M7.5 12.5l3 3 6-7"/></symbol>
<symbol id="i-urgent" viewBox="0 0 24 24"><path class="full" d="M8 2h8l6 6v8l-6 6H8l-6-6V8z"/><path class="cross" d="M8 8l8 8M16 8l-8 8"/></symbol>
<symbol id="i-soon" viewBox="0 0 24 24"><path class="full" d="M12 2l11 20H1z"/><path class="cross" d="M12 9v6M12 18.5v.1"/></symbol>
<symbol id="i-watch" viewBox="0 0 24 24"><path class="rim" d="M12 3.500l9 17H3z"/><path class="rim" d="M12 10v5M12 17.500v.1"/></symbol>
<symbol id="i-learning" viewBox="0 0 24 24"><circle class="rim dashed" cx="12" cy="12" r="9"/><path class="rim" d="M12 7v5l3 3"/></symbol>
<symbol id="i-silent" viewBox="0 0 24 24"><circle class="rim" cx="12" cy="12" r="9"/><path class="rim" d="M9.500 10a2.500 2.500 0 1 1 3.500 2.200q-1 .5-1 1.800M12 17v.1"/></symbol>
<symbol id="i-part" viewBox="0 0 24 24"><circle class="rim" cx="12" cy="12" r="9"/><path class="full" d="M3 12a9 9 0 0 0 18 0z"/></symbol>
<symbol id="i-blind" viewBox="0 0 24 24"><circle class="full" cx="12" cy="12" r="10"/><path class="cross" d="M9.500 10a2.500 2.500 0 1 1 3.500 2.200q-1 .5-1 1.800M12 17v.1"/></symbol>
<symbol id="i-unseen" viewBox="0 0 24 24"><circle class="rim dashed" cx="12" cy="12" r="9"/><path class="rim" d="M8 12h8"/></symbol>
<symbol id="i-cut" viewBox="0 0 24 24"><path class="full" d="M8 2h8l6 6v8l-6 6H8l-6-6V8z"/><path class="cross" d="M8 8l8 8M16 8l-8 8"/></symbol>
<symbol id="i-maybe" viewBox="0 0 24 24"><circle class="gap" cx="12" cy="12" r="10"/><path class="rim" d="M9.500 10a2.500 2.500 0 1 1 3.500 2.200q-1 .5-1 1.800M12 17v.1"/></symbol>
</defs></svg>
)svg";

constexpr std::pair<std::string_view, std::string_view> kSaid[] = {
    {"acknowledged", "Acknowledged. Its alerts do not repeat any more."},
    {"paused", "Alerts are paused. They come again by themselves when the time is over."},
    {"resumed", "Alerts come again from now on."},
    {"tested", "Tested. How it went stands below."},
    {"phone_added", "This phone is told from now on. Send a test to see it arrive."},
    {"phone_removed", "That phone is not told any more."},
    {"asked", "The controller was asked. Whether it does so shows below."},
    {"end-asked", "The controller was asked to switch it off. Whether it does so shows below."},
    {"noted", "Kept. It stands below, and on the visit sheet."},
    {"note_removed", "Deleted."},
    {"note_gone", "It is not there any more."},
    {"notes_full",
     "Not kept: there is no more room for photos and notes. Delete some first, or try again in a moment."},
    {"note_not_kept", "Not kept: the disk is full or failing. Coilward's own page says more."},
    {"measured", "Entered and kept. What it makes of the places stands below."},
    {"logged-out", "You are logged out."},
    {"elsewhere", "Logged out everywhere else."},
    {"changed", "The new password counts from now on. Everywhere else you are logged out."},
    {"ended", "That link is over: it opens nothing any more."},
    {"repaired",
     "Marked as repaired. Open findings end when the next runs prove it, and the draw is learned anew."},
};

// A stranger does not learn whose site it is.
std::string name_of_page(const Call& call) {
  return call.visitor.may(Need::read) ? call.site.config().site.name : "coilward";
}

std::string head(const std::string& name, const PageParts& parts) {
  std::string out = fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">"
      "<meta name=\"color-scheme\" content=\"light dark\"><title>{} – {}</title>"
      "<link rel=\"icon\" href=\"{}\"><link rel=\"manifest\" href=\"/app.webmanifest\">"
      "<link rel=\"stylesheet\" href=\"{}\">",
      html(parts.title), html(name), asset_path("icon.svg"), asset_path("style.css"));
  if (parts.live) out += fmt::format("<script defer src=\"{}\"></script>", asset_path("live.js"));
  if (parts.refresh_s > 0)
    out += fmt::format("<noscript><meta http-equiv=\"refresh\" content=\"{}\"></noscript>", parts.refresh_s);
  return out + parts.head + "</head>\n";
}

// Who looks at it, and what there is for that one.
std::string visitor_line(const Call& call) {
  const Visitor& visitor = call.visitor;
  if (visitor.kind == VisitorKind::unguarded && call.logins)
    return "<p>Nobody has a password yet: whoever uses this machine may do everything here. "
           "<a href=\"/set-up\">Set one</a></p>\n";
  if (visitor.kind == VisitorKind::link)
    return fmt::format("<p>You look at it by a read-only link, until {}. <a href=\"/login\">Log in</a></p>\n",
                       time_tag(visitor.until, call.site.config()));
  if (!visitor.is_person()) return {};
  const bool technician = visitor.kind == VisitorKind::technician;
  return fmt::format("<p>{}, {}: <a href=\"/account\">Your account</a>{}</p>\n", html(visitor.name),
                     role_name(technician ? Role::technician : Role::homeowner),
                     technician ? " <a href=\"/share\">Share a read-only link</a>" : "");
}

std::string links_of(const Call& call) {
  return fmt::format(
      "<p>{}<a href=\"/api/v1/export?what=runs&amp;format=csv\">All runs as CSV</a> "
      "<a href=\"/api/v1/export?what=findings&amp;format=csv\">All findings as CSV</a></p>\n{}",
      call.visitor.may(Need::technician)
          ? "<a href=\"/told\">Who is told</a> <a href=\"/commission\">Set up a new site</a> "
          : "",
      visitor_line(call));
}

// To whom nothing of the site is told: neither its time nor what there is.
PageAround around(const Call& call) {
  if (!call.visitor.may(Need::read)) return {name_of_page(call), "", "", ""};
  return {name_of_page(call), time_tag(call.site.now(), call.site.config()), page_version(call.site),
          links_of(call)};
}

std::string footer_of(const PageAround& around) {
  if (around.links.empty()) return {};
  return "<footer><p>Switch a zone off before you reach into a wet box. The mains side of the transformer is "
         "for a "
         "licensed electrician. Have buried services located before you dig. Follow the local codes.</p>\n" +
         around.links + "</footer>\n";
}

}  // namespace

std::string page_document(const PageParts& parts, const PageAround& around) {
  return head(around.name, parts) +
         fmt::format(
             "<body>\n<a class=\"skip\" href=\"#main\">Skip to the content</a>\n{}"
             "<header><a class=\"site\" href=\"/\">{}</a><span class=\"soft\" id=\"live\"></span>"
             "<span class=\"soft\" id=\"clock\">{}</span></header>\n<p class=\"hidden\" id=\"told\" "
             "role=\"status\"></p>\n"
             "<main id=\"main\" tabindex=\"-1\" data-version=\"{}\">\n{}</main>\n"
             "{}</body></html>\n",
             kSymbols, html(around.name), around.clock, around.version, parts.main, footer_of(around));
}

ApiResponse page_response(const Call& call, const PageParts& parts, int status) {
  PageParts all = parts;
  all.live = parts.live && call.visitor.may(Need::read);
  all.main = said_part(call) + parts.main;
  ApiResponse response{status, "text/html; charset=utf-8"};
  response.body = page_document(all, around(call));
  return response;
}

ApiResponse problem_page(const Call& call, const ApiResponse& problem) {
  const Json json = Json::parse(problem.body, nullptr, false);
  const std::string title = json.value("title", "Failed"), detail = json.value("detail", "");
  PageParts parts{title, fmt::format("<h1>{}</h1>\n<p>{}</p>\n<p><a href=\"/\">To the site</a></p>\n",
                                     html(title), html(detail))};
  parts.live = false;
  ApiResponse page = page_response(call, parts, problem.status);
  page.allow = problem.allow;
  return page;
}

ApiResponse problem_for(const Call& call, const ApiResponse& problem) {
  return call.request.path.starts_with("/api/") ? problem : problem_page(call, problem);
}

ApiResponse problem_for(const Call& call, const Error& error) { return problem_for(call, problem(error)); }

std::string said_part(const Call& call) {
  for (const auto& [word, text] : kSaid)
    if (call.query("said") == word) return fmt::format("<p class=\"said\" role=\"status\">{}</p>\n", text);
  return {};
}

std::string name_field(const Call& call, const std::string& id, std::string_view words) {
  if (call.visitor.is_person()) return {};
  return fmt::format(
      "<label for=\"{0}\">{1}</label><input id=\"{0}\" name=\"by\" maxlength=\"60\" autocomplete=\"name\">",
      id, words);
}

std::string token_field(const Call& call) { return token_input(call.token); }

}  // namespace coilward
