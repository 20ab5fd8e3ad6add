// The page at /: one glance, the wiring with what is wrong where, findings in words, and everything as a
// table.
#include <fmt/format.h>

#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/wiring_svg.h"

namespace coilward {
namespace {

constexpr int kSiteRefreshSeconds = 60;  // where there is no script

std::string zone_table_row(const ZoneState& zone, const SiteView& view, const Config& config, UtcTime now) {
  const ZoneWords words = zone_words(zone, view);
  const ZoneConfig* configured = config.zone(zone.number);
  const bool boxed = configured && configured->box >= 0;
  return fmt::format(
      "<tr class=\"{0}\" data-zone=\"{1}\"><th scope=\"row\"><a href=\"{2}\">{3}</a></th><td>{4} {5}</td>"
      "<td class=\"n\"><span data-field=\"amps\">{6}</span> <span class=\"soft\" "
      "data-field=\"when\">{7}</span></td>"
      "<td class=\"n wide\">{8}</td><td class=\"wide\">{9}</td><td class=\"wide\">{10}</td></tr>\n",
      words.kind, zone.number, zone_path(zone.number), html(zone_heading(zone.number, zone.name)),
      icon(words.kind), html(words.state), amps_text(words.amps), words.when, band_text(zone.normal),
      boxed ? html(config.boxes[static_cast<std::size_t>(configured->box)].id) : "–",
      zone.last_run ? short_time_tag(zone.last_run->start, now, config) : "never");
}

std::string zone_table(const SiteView& view, const Config& config, UtcTime now) {
  std::string out =
      "<table><thead><tr><th scope=\"col\">Zone</th><th scope=\"col\">State</th><th scope=\"col\" "
      "class=\"n\">Draws</th>"
      "<th scope=\"col\" class=\"n wide\">Normal</th><th scope=\"col\" class=\"wide\">Box</th>"
      "<th scope=\"col\" class=\"wide\">Last run</th></tr></thead><tbody>\n";
  for (const ZoneState& zone : view.zones) out += zone_table_row(zone, view, config, now);
  return out + "</tbody></table>\n";
}

constexpr const char* kToTheVisit =
    "<p class=\"links\"><a href=\"/visit\">Visit sheets, to print and take along</a></p>\n";

std::string findings_of(const Call& call, const SiteView& view) {
  if (!view.unread.empty()) return fmt::format("<p>Findings cannot be read: {}</p>\n", html(view.unread));
  if (view.open.empty()) return "<p>No open finding.</p>\n";
  return finding_cards(view.open, call) + kToTheVisit;
}

std::string trouble_of(const SiteView& view, const Config& config) {
  if (view.trouble.empty()) return {};
  std::string out = "<section><h2>Coilward itself</h2><ul class=\"cards\">\n";
  for (const HealthStage& stage : view.trouble)
    out += fmt::format(
        "<li class=\"card blind\">{}<div><p class=\"strong\">{}</p><p>{}</p>{}</div></li>\n", icon("blind"),
        html(stage.name), html(stage.why),
        stage.since == kNever ? "" : "<p class=\"soft\">Since " + time_tag(stage.since, config) + "</p>");
  return out + "</ul></section>\n";
}

std::string wiring_of(const SiteView& view, const Config& config) {
  std::string out = "<section class=\"drawing\"><h2>Wiring</h2>\n" + wiring_svg(view, config);
  if (config.boxes.empty())
    out +=
        "<p class=\"soft\">No boxes are configured, so it cannot be said where along the wire a fault "
        "is.</p>\n";
  return out + "</section>\n";
}

std::string work_on_site(const Call& call) {
  const std::string forms = pause_part(call, -1);
  return forms.empty() ? forms : "<section><h2>Work on the site</h2>\n" + forms + "</section>\n";
}

}  // namespace

ApiResponse get_page(const Call& call) {
  const Config& config = call.site.config();
  const SiteView view = view_of(call.site);
  const Verdict verdict = verdict_of(view, config);
  PageParts parts{verdict.head, {}, kSiteRefreshSeconds};
  parts.main = fmt::format(
      "{}<div "
      "class=\"columns\">\n{}<div>\n{}<section><h2>Findings</h2>\n{}</section>\n<section><h2>Zones</h2>\n{}</"
      "section>\n{}</div></div>\n",
      verdict_part(verdict), wiring_of(view, config), trouble_of(view, config), findings_of(call, view),
      zone_table(view, config, call.site.now()), work_on_site(call));
  return page_response(call, parts);
}

}  // namespace coilward
