// One site: its findings, zones, who goes there, and what is wrong with coilward there.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/wording.h"
#include "daemon/fleet/server/fleet_pages.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kSiteRefreshSeconds = 60;

// What the parts of the page need.
struct SitePage {
  const FleetCall& call;
  const SiteDetail& detail;
  Config config;
};

// Over: only what was acknowledged.
std::string acknowledge_part(const FleetFinding& kept, const SitePage& page) {
  if (kept.acknowledged_at != kNever)
    return fmt::format("<p class=\"soft\">Acknowledged{}, {}.</p>",
                       kept.acknowledged_by.empty() ? "" : " by " + html(kept.acknowledged_by),
                       short_time_tag(kept.acknowledged_at, page.call.now, page.config));
  const FleetVisitor& visitor = page.call.visitor;
  if (!kept.finding.is_open() || !visitor.may(FleetNeed::look_after)) return {};
  const std::string id = html(kept.finding.id);
  return fmt::format(
      "<form method=\"post\" action=\"/site/{}/finding/{}/acknowledge\" class=\"row\">{}{}<button>Acknowledge"
      "</button></form>",
      html(page.detail.line.site), html(percent_encoded(kept.finding.id)), token_input(visitor.token),
      visitor.is_person()
          ? ""
          : fmt::format("<label for=\"by-{0}\">Your name</label><input id=\"by-{0}\" name=\"by\" "
                        "maxlength=\"60\">",
                        id));
}

std::string finding_card(const FleetFinding& kept, const SitePage& page) {
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
      kind, icon(kind), html(headline(f, page.config)), where, html(f.summary),
      f.is_open() ? severity_words(f.severity) : "Over", in_hundred_text(f.probability),
      time_tag(f.opened, page.config), f.is_open() ? "" : ", until " + time_tag(f.closed, page.config),
      acknowledge_part(kept, page));
}

std::string cards(const std::vector<FleetFinding>& list, const SitePage& page) {
  std::string out = "<ul class=\"cards\">\n";
  for (const auto& kept : list) out += finding_card(kept, page);
  return out + "</ul>\n";
}

// Who goes there, and the choice for whoever may choose.
std::string visit_part(const SitePage& page, const std::vector<std::string>& colleagues) {
  const SiteLine& line = page.detail.line;
  const std::string who =
      line.assigned_to.empty()
          ? ""
          : fmt::format("<p><span class=\"strong\">{}</span> goes there. Assigned{}, {}.</p>\n",
                        html(line.assigned_to),
                        page.detail.assigned_by.empty() ? "" : " by " + html(page.detail.assigned_by),
                        short_time_tag(page.detail.assigned_at, page.call.now, page.config));
  if (colleagues.empty()) return who;
  std::string choice = "<option value=\"\">Nobody</option>";
  for (const std::string& name : colleagues)
    choice += fmt::format("<option{}>{}</option>", name == line.assigned_to ? " selected" : "", html(name));
  return who +
         fmt::format(
             "<form method=\"post\" action=\"/site/{}/assign\" class=\"row\">{}<label for=\"to\">Who goes "
             "there</label><select id=\"to\" name=\"to\">{}</select><button>Assign</button></form>\n",
             html(line.site), token_input(page.call.visitor.token), choice);
}

// The most severe open finding that names the zone.
const Finding* worst_of(const SiteDetail& detail, int zone) {
  const Finding* worst = nullptr;
  for (const auto& [f, by, at] : detail.open)
    if (std::ranges::find(f.zones, zone) != f.zones.end() && (!worst || f.severity > worst->severity))
      worst = &f;
  return worst;
}

std::string zone_rows(const SitePage& page) {
  std::string out;
  for (const FleetZone& zone : page.detail.zones) {
    const Finding* worst = worst_of(page.detail, zone.zone);
    const std::string kind(worst ? severity_name(worst->severity) : "fine");
    out += fmt::format(
        "<tr class=\"{}\"><th scope=\"row\">{}</th><td>{} {}</td><td class=\"n\">{}</td><td class=\"n "
        "wide\">{}</td>"
        "</tr>\n",
        kind, html(zone_heading(zone.zone, zone.name)), icon(kind),
        worst ? html(severity_words(worst->severity)) : "as it should be",
        zone.last_water == kNever ? "never seen"
                                  : short_time_tag(zone.last_water, page.call.now, page.config),
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

constexpr std::pair<std::string_view, const char*> kDone[] = {
    {"acknowledged", "Acknowledged. It ranks behind what nobody has seen."},
    {"assigned", "Assigned."},
    {"nobody", "Nobody goes there now."},
};

std::string head_part(const SitePage& page) {
  const SiteLine& line = page.detail.line;
  std::string out;
  for (const auto& [word, text] : kDone)
    if (page.call.query("said") == word) out += said_words(text);
  const std::string figures = in_figures(line, page.call.now);
  out += verdict_html(
      {need_words(line.need).kind, line.name, figures.empty() ? why_go(line, page.call.now) : figures});
  return out + fmt::format("<p class=\"soft\">{}, last heard {}. Site {}, version {}.</p>\n",
                           line.online ? "Connected" : "Not connected",
                           line.heard == kNever ? "never" : time_tag(line.heard, page.config),
                           html(line.site),
                           html(page.detail.version.empty() ? "unknown" : page.detail.version));
}

}  // namespace

ApiResponse site_page(const FleetCall& call, const SiteDetail& detail,
                      const std::vector<std::string>& colleagues) {
  SitePage page{call, detail, fleet_config(detail.line.name, detail.timezone)};
  for (const FleetZone& zone : detail.zones) page.config.zones.push_back({zone.zone, zone.name});
  PageParts parts{detail.line.name, {}, kSiteRefreshSeconds};
  parts.main = head_part(page) + "<section><h2>Findings</h2>\n";
  parts.main += detail.open.empty() ? "<p>No open finding.</p>\n" : cards(detail.open, page);
  parts.main += visit_part(page, colleagues) + "</section>\n" + troubles_part(detail);
  parts.main +=
      "<section><h2>Zones</h2>\n<table><thead><tr><th scope=\"col\">Zone</th><th scope=\"col\">State</th>"
      "<th scope=\"col\" class=\"n\">Last water</th><th scope=\"col\" class=\"n wide\">Normal</th></tr>"
      "</thead><tbody>\n" +
      zone_rows(page) + "</tbody></table></section>\n";
  if (!detail.closed.empty())
    parts.main += "<section><h2>Over</h2>\n" + cards(detail.closed, page) + "</section>\n";
  return fleet_document(call, std::move(parts), 200, time_tag(call.now, page.config));
}

}  // namespace coilward
