#include "daemon/fleet/server/fleet_pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/alerts/wording.h"
#include "daemon/config/time_zones.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kRefreshSeconds = 60;

struct NeedWords {
  const char *kind, *label, *key;  // symbol and class; as a filter; in the query
};
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

constexpr VisitNeed kNeeds[] = {VisitNeed::urgent, VisitNeed::silent, VisitNeed::soon, VisitNeed::watch,
                                VisitNeed::none};

// "3 days", "5 h", "20 min".
std::string age_text(UtcTime since, UtcTime now) {
  const double hours = std::max(0.0, seconds_between(since, now) / 3600);
  if (hours >= 48) return fmt::format("{:.0f} days", hours / 24);
  return hours >= 1 ? fmt::format("{:.0f} h", hours) : fmt::format("{:.0f} min", hours * 60);
}

std::string counted(int n, const char* one, const char* many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

// One line: why someone should go there.
std::string why(const SiteLine& line, UtcTime now) {
  if (line.need == VisitNeed::silent)
    return line.heard == kNever ? "Never heard of"
                                : fmt::format("Nothing heard for {}", age_text(line.heard, now));
  std::string text = line.words;
  if (line.open > 1) text += fmt::format(" And {} more.", line.open - 1);
  if (line.acknowledged > 0 && line.acknowledged == line.open) text += " Acknowledged.";
  if (text.empty() && line.need == VisitNeed::watch) return "Coilward itself has a trouble there";
  return text.empty() ? "All zones draw as they should" : text;
}

// The same in figures.
std::string in_figures(const SiteLine& line, UtcTime now) {
  std::string text;
  if (line.zones_down > 0) text = counted(line.zones_down, "zone down", "zones down");
  if (line.dry_since != kNever) text += fmt::format(", no water for {}", age_text(line.dry_since, now));
  return text;
}

Config config_of(const std::string& name, const std::string& timezone) {
  Config config;
  config.site.name = name;
  config.site.timezone = is_time_zone(timezone) ? timezone : "UTC";
  return config;
}

ApiResponse document(PageParts parts, const std::string& clock, int status = 200) {
  parts.live = false;
  ApiResponse response{status, "text/html; charset=utf-8"};
  response.body = page_document(parts, {"All sites", clock, "", ""});
  return response;
}

std::string address(const SiteFilter& filter, std::optional<VisitNeed> need, int page) {
  std::string out = "/?";
  if (need) out += fmt::format("show={}&amp;", need_words(*need).key);
  if (!filter.text.empty()) out += "find=" + html(percent_encoded(filter.text)) + "&amp;";
  if (page > 0) out += fmt::format("page={}&amp;", page + 1);
  out.resize(out.size() - (out.size() > 2 ? 5 : 1));
  return out;
}

std::string filters(const SiteList& list, const SiteFilter& filter) {
  std::string out =
      fmt::format("<p class=\"ranges\"><a href=\"{}\"{}>All {}</a>", address(filter, std::nullopt, 0),
                  filter.need ? "" : " aria-current=\"true\"", list.all);
  for (const VisitNeed need : kNeeds)
    out += fmt::format("<a href=\"{}\"{}>{} {}</a>", address(filter, need, 0),
                       filter.need == need ? " aria-current=\"true\"" : "", need_words(need).label,
                       list.by_need[static_cast<int>(need)]);
  return out + "</p>\n";
}

// Below the list: on a phone the list comes first.
std::string find_form(const SiteFilter& filter) {
  return fmt::format(
      "<form method=\"get\" action=\"/\" class=\"row\">{}<label for=\"find\">Find a site by name or "
      "id</label><input id=\"find\" name=\"find\" value=\"{}\" "
      "maxlength=\"60\"><button>Find</button></form>\n",
      filter.need
          ? fmt::format("<input type=\"hidden\" name=\"show\" value=\"{}\">", need_words(*filter.need).key)
          : "",
      html(filter.text));
}

std::string site_row(const SiteLine& line, UtcTime now) {
  const NeedWords words = need_words(line.need);
  return fmt::format(
      "<tr class=\"{0}\"><th scope=\"row\"><a href=\"/site/{1}\">{2}</a></th><td>{3} {4}<span "
      "class=\"soft\"> "
      "{5}</span></td><td class=\"n wide\">{6}</td></tr>\n",
      words.kind, html(line.site), html(short_text(line.name, 60)), icon(words.kind),
      html(short_text(why(line, now), 200)), html(in_figures(line, now)),
      line.heard == kNever ? "never" : age_text(line.heard, now) + " ago");
}

std::string pages(const SiteList& list, const SiteFilter& filter) {
  std::string out = "<p class=\"links\">";
  if (filter.page > 0)
    out += fmt::format("<a href=\"{}\">Earlier</a>", address(filter, filter.need, filter.page - 1));
  if ((filter.page + 1) * std::int64_t{kSitesAPage} < list.matching)
    out +=
        fmt::format("<a href=\"{}\">Next {}</a>", address(filter, filter.need, filter.page + 1), kSitesAPage);
  return out + "</p>\n";
}

Verdict verdict_of_list(const SiteList& list) {
  const auto of = [&](VisitNeed need) { return list.by_need[static_cast<int>(need)]; };
  const std::int64_t urgent = of(VisitNeed::urgent), silent = of(VisitNeed::silent),
                     soon = of(VisitNeed::soon);
  if (list.all == 0)
    return {"learning", "No site has sent anything yet",
            "A site comes in with [fleet] in its configuration."};
  const std::string more = fmt::format("{} silent, {} will fail, of {} in all.", silent, soon, list.all);
  if (urgent > 0)
    return {"urgent", fmt::format("{} {} a visit", urgent, urgent == 1 ? "site needs" : "sites need"), more};
  if (silent > 0)
    return {"blind", fmt::format("{} {} silent", silent, silent == 1 ? "site is" : "sites are"), more};
  if (soon > 0)
    return {"soon",
            fmt::format("{} will fail, none is failing", counted(static_cast<int>(soon), "site", "sites")),
            more};
  return {"fine", "Every site waters as it should", fmt::format("{} in all.", list.all)};
}

std::string verdict_html(const Verdict& verdict) {
  return fmt::format("<div class=\"verdict {0}\">{1}<div><h1>{2}</h1><p>{3}</p></div></div>\n", verdict.kind,
                     icon(verdict.kind), html(verdict.head), html(verdict.more));
}

// ---- one site

std::string acknowledge_part(const FleetFinding& kept, const std::string& site, const std::string& token) {
  if (!kept.finding.is_open()) return {};
  if (kept.acknowledged_at != kNever)
    return fmt::format("<p class=\"soft\">Acknowledged{}.</p>",
                       kept.acknowledged_by.empty() ? "" : " by " + html(kept.acknowledged_by));
  return fmt::format(
      "<form method=\"post\" action=\"/site/{}/finding/{}/acknowledge\" class=\"row\"><input type=\"hidden\" "
      "name=\"token\" value=\"{}\"><label for=\"by-{}\">Your name</label><input id=\"by-{}\" name=\"by\" "
      "maxlength=\"60\"><button>Acknowledge</button></form>",
      html(site), html(percent_encoded(kept.finding.id)), html(token), html(kept.finding.id),
      html(kept.finding.id));
}

std::string finding_card(const FleetFinding& kept, const Config& config, const std::string& site,
                         const std::string& token) {
  const Finding& f = kept.finding;
  const std::string kind(f.is_open() ? severity_name(f.severity) : "fine");
  const std::string where = f.where.empty() ? ""
                                            : fmt::format("<p>Most likely {} ({} in 100).</p>",
                                                          html(stretch_words(f.where.front())),
                                                          in_hundred_text(f.where.front().probability));
  return fmt::format(
      "<li class=\"card {0}\">{1}<div><p class=\"strong\">{2}</p>{3}<p>{4}</p><p class=\"soft\">{5}. {6} in "
      "100 sure. "
      "Since {7}{8}.</p>{9}</div></li>\n",
      kind, icon(kind), html(headline(f, config)), where, html(f.summary),
      f.is_open() ? severity_words(f.severity) : "Over", in_hundred_text(f.probability),
      time_tag(f.opened, config), f.is_open() ? "" : ", until " + time_tag(f.closed, config),
      acknowledge_part(kept, site, token));
}

std::string cards(const std::vector<FleetFinding>& list, const Config& config, const SiteDetail& detail,
                  const std::string& token) {
  std::string out = "<ul class=\"cards\">\n";
  for (const auto& kept : list) out += finding_card(kept, config, detail.line.site, token);
  return out + "</ul>\n";
}

// The most severe open finding that names the zone.
const Finding* worst_of(const SiteDetail& detail, int zone) {
  const Finding* worst = nullptr;
  for (const auto& [f, by, at] : detail.open)
    if (std::ranges::find(f.zones, zone) != f.zones.end() && (!worst || f.severity > worst->severity))
      worst = &f;
  return worst;
}

std::string zone_rows(const SiteDetail& detail, const Config& config, UtcTime now) {
  std::string out;
  for (const FleetZone& zone : detail.zones) {
    const Finding* worst = worst_of(detail, zone.zone);
    const std::string kind(worst ? severity_name(worst->severity) : "fine");
    out += fmt::format(
        "<tr class=\"{}\"><th scope=\"row\">{}</th><td>{} {}</td><td class=\"n\">{}</td><td class=\"n "
        "wide\">{}</td>"
        "</tr>\n",
        kind, html(zone_heading(zone.zone, zone.name)), icon(kind),
        worst ? html(severity_words(worst->severity)) : "as it should be",
        zone.last_water == kNever ? "never seen" : short_time_tag(zone.last_water, now, config),
        band_text(zone.normal));
  }
  return out;
}

std::string troubles_part(const SiteDetail& detail) {
  if (detail.troubles.empty()) return {};
  std::string out = "<section><h2>Coilward itself</h2><ul class=\"cards\">\n";
  for (const auto& trouble : detail.troubles)
    out += fmt::format("<li class=\"card blind\">{}<div><p class=\"strong\">{}</p><p>{}</p></div></li>\n",
                       icon("blind"), html(trouble.stage), html(trouble.why));
  return out + "</ul></section>\n";
}

}  // namespace

ApiResponse sites_page(const SiteList& list, const SiteFilter& filter, UtcTime now) {
  PageParts parts{"Sites by what needs a visit first", {}, kRefreshSeconds};
  parts.main = verdict_html(verdict_of_list(list)) + filters(list, filter);
  if (list.lines.empty())
    parts.main += "<p>No site matches.</p>\n";
  else
    parts.main +=
        "<table><thead><tr><th scope=\"col\">Site</th><th scope=\"col\">Why</th><th scope=\"col\" "
        "class=\"n wide\">Last heard</th></tr></thead><tbody>\n";
  for (const SiteLine& line : list.lines) parts.main += site_row(line, now);
  if (!list.lines.empty()) parts.main += "</tbody></table>\n";
  parts.main += pages(list, filter) + find_form(filter);
  return document(std::move(parts), time_tag(now, config_of("", "UTC")));
}

ApiResponse site_page(const SiteDetail& detail, UtcTime now, const std::string& token,
                      const std::string& said) {
  Config config = config_of(detail.line.name, detail.timezone);
  for (const FleetZone& zone : detail.zones) config.zones.push_back({zone.zone, zone.name});
  const NeedWords words = need_words(detail.line.need);
  PageParts parts{detail.line.name, {}, kRefreshSeconds};
  if (said == "acknowledged")
    parts.main =
        "<p class=\"said\" role=\"status\">Acknowledged. It ranks behind what nobody has seen.</p>\n";
  parts.main += verdict_html(
      {words.kind, detail.line.name,
       in_figures(detail.line, now).empty() ? why(detail.line, now) : in_figures(detail.line, now)});
  parts.main +=
      fmt::format("<p class=\"soft\">{}, last heard {}. Site {}, version {}.</p>\n",
                  detail.line.online ? "Connected" : "Not connected",
                  detail.line.heard == kNever ? "never" : time_tag(detail.line.heard, config),
                  html(detail.line.site), html(detail.version.empty() ? "unknown" : detail.version));
  parts.main += "<section><h2>Findings</h2>\n";
  parts.main += detail.open.empty() ? "<p>No open finding.</p>\n" : cards(detail.open, config, detail, token);
  parts.main += "</section>\n" + troubles_part(detail);
  parts.main +=
      "<section><h2>Zones</h2>\n<table><thead><tr><th scope=\"col\">Zone</th><th scope=\"col\">State</th>"
      "<th scope=\"col\" class=\"n\">Last water</th><th scope=\"col\" class=\"n wide\">Normal</th></tr>"
      "</thead><tbody>\n" +
      zone_rows(detail, config, now) + "</tbody></table></section>\n";
  if (!detail.closed.empty())
    parts.main += "<section><h2>Over</h2>\n" + cards(detail.closed, config, detail, token) + "</section>\n";
  return document(std::move(parts), time_tag(now, config));
}

ApiResponse fleet_problem_page(const ApiResponse& problem, UtcTime now) {
  const auto json = nlohmann::json::parse(problem.body, nullptr, false);
  const std::string title = json.value("title", "Failed"), detail = json.value("detail", "");
  PageParts parts{title, fmt::format("<h1>{}</h1>\n<p>{}</p>\n<p><a href=\"/\">To all sites</a></p>\n",
                                     html(title), html(detail))};
  ApiResponse page = document(std::move(parts), time_tag(now, config_of("", "UTC")), problem.status);
  page.allow = problem.allow;
  return page;
}

}  // namespace coilward
