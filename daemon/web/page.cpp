// The page at /: what is wrong and what each zone draws, in plain HTML without scripts.
#include <fmt/format.h>

#include "daemon/alerts/site_time.h"
#include "daemon/web/api_route.h"
#include "daemon/web/site_json.h"

namespace coilward {
namespace {

constexpr std::string_view kStyle = R"(:root{color-scheme:light dark;font:1rem/1.45 system-ui,sans-serif}
body{margin:0 auto;max-width:60rem;padding:.75rem}
h1{font-size:1.35rem;margin:.2rem 0}h2{font-size:1.1rem;margin:1.4rem 0 .4rem}
p{margin:.3rem 0}ul{list-style:none;margin:0;padding:0}
li{border-left:.35rem solid #888;margin:.6rem 0;padding:.1rem .6rem}
li.urgent{border-color:#c62828}li.soon{border-color:#e08600}
table{border-collapse:collapse;width:100%}
th,td{border-bottom:1px solid #8886;padding:.3rem .35rem;text-align:left;vertical-align:top;overflow-wrap:anywhere}
td.n,th.n{text-align:right;white-space:nowrap}
tr.fault td:first-child{font-weight:bold}
small{opacity:.75}
@media(max-width:30rem){.wide{display:none}}
)";

std::string html(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else
      out.push_back(c);
  }
  return out;
}

std::string amps(double value) { return measured(value) ? fmt::format("{:.3f} A", value) : "–"; }

std::string band(const NormalDraw& normal) {
  if (!measured(normal.hold_low)) return normal.provisional ? "learning" : "–";
  return fmt::format("{:.3f} to {:.3f} A{}", normal.hold_low, normal.hold_high,
                     normal.provisional ? " (learning)" : "");
}

std::string finding_item(const Finding& finding, const Config& config) {
  std::string where;
  if (!finding.where.empty())
    where = fmt::format(" Most likely between {} and {}.", html(finding.where.front().from),
                        html(finding.where.front().to));
  return fmt::format("<li class=\"{}\"><p>{}{}</p><p><small>{}, {:.0f} % sure, since {}</small></p></li>\n",
                     severity_name(finding.severity), html(finding.summary), where,
                     severity_name(finding.severity), 100 * finding.probability,
                     site_date_time(finding.opened, config.site.timezone));
}

std::string findings_part(const SiteAccess& site) {
  const auto open = site.findings(false);
  if (!open) return fmt::format("<p>Findings cannot be read: {}</p>\n", html(open.error().what));
  if (open->empty()) return "<p>No open finding.</p>\n";
  std::string out = "<ul>\n";
  for (const Finding& finding : *open) out += finding_item(finding, site.config());
  return out + "</ul>\n";
}

std::string zone_row(const ZoneState& zone, const std::string& timezone) {
  const bool ran = zone.last_run.has_value();
  return fmt::format(
      "<tr class=\"{0}\"><td>{1}</td><td>{2}</td><td>{0}{3}</td><td class=\"n\">{4}</td>"
      "<td class=\"n wide\">{5}</td><td class=\"wide\">{6}</td></tr>\n",
      html(zone.state), zone.number == kMasterZone ? "M" : std::to_string(zone.number), html(zone.name),
      zone.on ? ", on" : "", ran ? amps(zone.last_run->hold_amps) : "–", band(zone.normal),
      ran ? site_date_time(zone.last_run->start, timezone) : "never");
}

std::string zones_part(const SiteAccess& site) {
  std::string out =
      "<table><thead><tr><th>Zone</th><th>Name</th><th>State</th><th class=\"n\">Last run</th>"
      "<th class=\"n wide\">Normal</th><th class=\"wide\">When</th></tr></thead><tbody>\n";
  for (const ZoneState& zone : site.zones()) out += zone_row(zone, site.config().site.timezone);
  return out + "</tbody></table>\n";
}

std::string trouble_part(const SiteAccess& site) {
  std::string out;
  for (const HealthStage& stage : site.health())
    if (!stage.ok)
      out += fmt::format("<li class=\"urgent\"><p>{}: {}</p></li>\n", html(stage.name), html(stage.why));
  return out.empty() ? out : "<h2>Coilward itself</h2>\n<ul>\n" + out + "</ul>\n";
}

}  // namespace

ApiResponse get_page(const Call& call) {
  const Config& config = call.site.config();
  ApiResponse response{200, "text/html; charset=utf-8"};
  response.body = fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">"
      "<meta http-equiv=\"refresh\" content=\"60\"><title>{0}</title>"
      "<link rel=\"stylesheet\" href=\"/style.css\"></head><body>\n<h1>{0}</h1>\n<p><small>{1}</small></p>\n"
      "{2}<h2>Findings</h2>\n{3}<h2>Zones</h2>\n{4}</body></html>\n",
      html(config.site.name), site_date_time(call.site.now(), config.site.timezone), trouble_part(call.site),
      findings_part(call.site), zones_part(call.site));
  return response;
}

ApiResponse get_style(const Call&) {
  ApiResponse response{200, "text/css; charset=utf-8"};
  response.body = kStyle;
  return response;
}

}  // namespace coilward
