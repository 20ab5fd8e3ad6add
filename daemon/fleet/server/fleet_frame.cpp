#include "daemon/fleet/server/fleet_frame.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/config/time_zones.h"
#include "daemon/web/html.h"

namespace coilward {
namespace {

// Who looks at it, and what there is for that one.
std::string fleet_visitor_line(const FleetVisitor& visitor) {
  if (visitor.kind == FleetVisitor::Kind::unguarded)
    return "<p>Nobody has a password yet: whoever uses this machine may do everything here. <code>coilward "
           "person add NAME --config FILE</code> sets the first.</p>\n";
  if (!visitor.is_person()) return {};
  return fmt::format("<p>{}, {}: <a href=\"/account\">Your account</a></p>\n", html(visitor.name),
                     fleet_role_name(visitor.role));
}

}  // namespace

Config fleet_config(const std::string& name, const std::string& timezone) {
  Config config;
  config.site.name = name;
  config.site.timezone = is_time_zone(timezone) ? timezone : "UTC";
  return config;
}

// To a stranger not even the time is told.
ApiResponse fleet_document(const FleetCall& call, PageParts parts, int status, const std::string& clock) {
  parts.live = false;
  PageAround around{call.visitor.scope.site.empty() ? "All sites" : "Your site", clock, "",
                    fleet_visitor_line(call.visitor)};
  if (!call.visitor.may(FleetNeed::read))
    around = {"coilward", "", "", ""};
  else if (clock.empty())
    around.clock = time_tag(call.now, fleet_config("", "UTC"));
  ApiResponse response{status, "text/html; charset=utf-8"};
  response.body = page_document(parts, around);
  return response;
}

ApiResponse fleet_problem_page(const FleetCall& call, const ApiResponse& problem) {
  const auto json = nlohmann::json::parse(problem.body, nullptr, false);
  const std::string title = json.value("title", "Failed"), detail = json.value("detail", "");
  PageParts parts{title, fmt::format("<h1>{}</h1>\n<p>{}</p>\n<p><a href=\"/\">To the start</a></p>\n",
                                     html(title), html(detail))};
  ApiResponse page = fleet_document(call, std::move(parts), problem.status);
  page.allow = problem.allow;
  return page;
}

std::string said_words(const std::string& words) {
  return fmt::format("<p class=\"said\" role=\"status\">{}</p>\n", html(words));
}

NeedWords need_words(VisitNeed need) {
  switch (need) {
    case VisitNeed::urgent:
      return {"urgent", "Not watering", "urgent"};
    case VisitNeed::silent:
      return {"blind", "Silent", "silent"};
    case VisitNeed::soon:
      return {"soon", "Will fail", "soon"};
    case VisitNeed::watch:
      return {"watch", "To watch", "watch"};
    case VisitNeed::none:
      break;
  }
  return {"fine", "Fine", "fine"};
}

std::string age_text(UtcTime since, UtcTime now) {
  const double hours = std::max(0.0, seconds_between(since, now) / 3600);
  if (hours >= 48) return fmt::format("{:.0f} days", hours / 24);
  return hours >= 1 ? fmt::format("{:.0f} h", hours) : fmt::format("{:.0f} min", hours * 60);
}

std::string counted(std::int64_t n, const char* one, const char* many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

std::string why_go(const SiteLine& line, UtcTime now) {
  if (line.need == VisitNeed::silent)
    return line.heard == kNever ? "Never heard of"
                                : fmt::format("Nothing heard for {}", age_text(line.heard, now));
  std::string text = line.words;
  if (line.open > 1) text += fmt::format(" And {} more.", line.open - 1);
  if (line.acknowledged > 0 && line.acknowledged == line.open) text += " Acknowledged.";
  if (text.empty() && line.need == VisitNeed::watch) return "Coilward itself has a trouble there";
  return text.empty() ? "All zones draw as they should" : text;
}

std::string in_figures(const SiteLine& line, UtcTime now) {
  std::string text;
  if (line.zones_down > 0) text = counted(line.zones_down, "zone down", "zones down");
  if (line.dry_since != kNever) text += fmt::format(", no water for {}", age_text(line.dry_since, now));
  return text;
}

std::string verdict_html(const Verdict& verdict) {
  return fmt::format("<div class=\"verdict {0}\">{1}<div><h1>{2}</h1><p>{3}</p></div></div>\n", verdict.kind,
                     icon(verdict.kind), html(verdict.head), html(verdict.more));
}

}  // namespace coilward
