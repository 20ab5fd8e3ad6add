// The page of one zone: what it draws against what is normal for it, run over run.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/wording.h"
#include "daemon/web/assets.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/query.h"
#include "daemon/web/runs_laid.h"
#include "daemon/web/switch_on_chart.h"
#include "daemon/web/zone_chart.h"
#include "daemon/web/zone_range.h"

namespace coilward {
namespace {

constexpr std::size_t kRunsShown = 12, kFindingsShown = 10;

std::string fact(std::string_view name, const std::string& value) {
  return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>\n", name, value);
}

std::string wire_text(const ZoneConfig& zone) {
  return zone.wire.awg > 0 ? fmt::format("{} AWG", zone.wire.awg)
                           : fmt::format("{:g} mm²", zone.wire.square_mm);
}

std::string facts_of(const ZoneState& zone, const ZoneWords& words, const Config& config) {
  std::string out = fmt::format("<dl class=\"facts\" data-zone=\"{}\">\n", zone.number);
  out += fact(
      "Draws",
      fmt::format("<span data-field=\"amps\">{}</span> <span class=\"soft\" data-field=\"when\">{}</span>",
                  amps_text(words.amps), words.when));
  out += fact("Normal", band_text(zone.normal));
  if (measured(zone.normal.inrush_low))
    out += fact("Normal switch-on",
                fmt::format("{:.3f} to {:.3f} A", zone.normal.inrush_low, zone.normal.inrush_high));
  out += fact("Learned from", fmt::format("{} runs", zone.normal.runs));
  if (const ZoneConfig* c = config.zone(zone.number)) {
    if (c->box >= 0) out += fact("Box", html(config.boxes[static_cast<std::size_t>(c->box)].id));
    out += fact("Common", html(config.commons[static_cast<std::size_t>(c->common)].id));
    out += fact("Wire", wire_text(*c));
    if (c->valves > 1) out += fact("Valves", std::to_string(c->valves));
  }
  return out + "</dl>\n";
}

std::string range_path(int zone, std::string_view name, UtcTime until = kNever) {
  std::string path = fmt::format("{}?range={}", zone_path(zone), name);
  if (until != kNever) path += "&amp;until=" + percent_encoded(format_rfc3339(until));
  return path;
}

std::string range_links(const ZoneState& zone, const ZoneRange& range, const std::vector<Run>& before) {
  std::string out = "<nav class=\"ranges\" aria-label=\"Part of the history\">";
  for (const RangeKind& kind : range_kinds())
    out += fmt::format("<a href=\"{}\"{}>{}</a>", range_path(zone.number, kind.name),
                       &kind == range.kind ? " aria-current=\"true\"" : "", kind.words);
  const bool one_run = range.kind->length.count() == 0;
  const UtcTime earlier = !one_run ? range.from : before.size() > 1 ? before[1].start + Millis{1} : kNever;
  if (earlier != kNever)
    out += fmt::format("<a href=\"{}\">Earlier</a>", range_path(zone.number, range.kind->name, earlier));
  if (!range.newest && !one_run)
    out += fmt::format("<a href=\"{}\">Later</a>",
                       range_path(zone.number, range.kind->name, range.until + range.kind->length));
  if (!range.newest && one_run)
    out += fmt::format("<a href=\"{}\">Newest</a>", range_path(zone.number, range.kind->name));
  return out + "</nav>\n";
}

// The finding that was open during a run, the latest first; nullptr: none.
const Finding* finding_during(const Run& run, const std::vector<Finding>& findings) {
  for (const Finding& f : findings)
    if (run.end >= f.opened && (f.is_open() || run.start < f.closed)) return &f;
  return nullptr;
}

std::string end_of(const Run& run) {
  const std::string_view work = run.work_on_site ? "; work on site, not judged" : "";
  return run.inferred ? "should have run" : fmt::format("{}{}", run_end_words(run.ended), work);
}

std::string run_row(const Run& run, const Finding* finding, const Call& call) {
  const std::string kind(finding ? severity_name(finding->severity) : "");
  return fmt::format(
      "<tr class=\"{}\"><th scope=\"row\"><a href=\"{}\">{}</a>{}</th><td class=\"n\">{}</td><td "
      "class=\"n\">{}</td><td class=\"n wide\">{}</td><td class=\"wide\">{}</td></tr>\n",
      kind, range_path(run.zone, "run", run.start + Millis{1}),
      short_time_tag(run.start, call.site.now(), call.site.config()),
      finding ? fmt::format("<br>{} <a href=\"{}\">finding</a>", icon(kind), finding_path(*finding)) : "",
      span_text(run.end - run.start), amps_text(run.hold_amps), amps_text(run.inrush_amps), end_of(run));
}

std::string runs_table(const std::vector<Run>& runs, const std::vector<Finding>& findings, const Call& call) {
  if (runs.empty()) return "<p>No run is recorded.</p>\n";
  std::string out =
      "<table><thead><tr><th scope=\"col\">Run</th><th scope=\"col\" class=\"n\">Lasted</th><th "
      "scope=\"col\" class=\"n\">Drew</th><th scope=\"col\" class=\"n wide\">Switch-on</th><th "
      "scope=\"col\" class=\"wide\">End</th></tr></thead><tbody>\n";
  for (std::size_t i = 0; i < std::min(runs.size(), kRunsShown); ++i)
    out += run_row(runs[i], finding_during(runs[i], findings), call);
  return out + "</tbody></table>\n";
}

std::vector<Finding> findings_on(int zone, const SiteAccess& site) {
  auto all = site.findings(true);
  if (!all) return {};
  std::erase_if(*all, [&](const Finding& f) {
    return std::find(f.zones.begin(), f.zones.end(), zone) == f.zones.end();
  });
  return std::move(*all);
}

std::vector<ChartMark> marks_of(const std::vector<Finding>& findings, const ZoneRange& range,
                                const Config& config) {
  std::vector<ChartMark> marks;
  const auto inside = [&](UtcTime t) { return t >= range.from && t <= range.until; };
  for (const Finding& f : findings) {
    if (inside(f.opened)) marks.push_back({f.opened, "found", headline(f, config)});
    if (f.is_open() || !inside(f.closed)) continue;
    const bool repaired = f.close_reason.starts_with("repaired");
    marks.push_back({f.closed, repaired ? "repaired" : "over",
                     (repaired ? "Repaired: " : "Over: ") + headline(f, config)});
  }
  return marks;
}

std::string export_links(const ZoneState& zone, const ZoneRange& range) {
  const std::string span = fmt::format("since={}&amp;until={}", percent_encoded(format_rfc3339(range.from)),
                                       percent_encoded(format_rfc3339(range.until)));
  std::string out = "<p class=\"links\">Take this part along: ";
  for (const auto& [format, words] :
       {std::pair{"csv", "CSV"}, {"csv-excel", "CSV for spreadsheets"}, {"json", "JSON"}})
    out += fmt::format("<a href=\"/api/v1/zones/{}/history?{}&amp;format={}\">readings as {}</a> ",
                       zone.number, span, format, words);
  return out + fmt::format("<a href=\"/api/v1/runs?zone={}&amp;{}&amp;format=csv\">runs as CSV</a></p>\n",
                           zone.number, span);
}

std::string history_of(const std::vector<Finding>& findings, const Call& call) {
  if (findings.empty()) return "<p>None so far.</p>\n";
  return finding_cards({findings.begin(), findings.begin() + static_cast<std::ptrdiff_t>(
                                                                 std::min(findings.size(), kFindingsShown))},
                       call);
}

std::string laid_path(const Call& call, int zone, const ZoneRange& range) {
  std::string path = fmt::format("{}?range={}", zone_path(zone), range.kind->name);
  if (!call.query("until").empty()) path += "&amp;until=" + percent_encoded(call.query("until"));
  return path;
}

struct Shown {
  ZoneRange range;
  std::vector<Run> before, inside;
  int laid = kLaidUsual;
};

std::string work_part(const Call& call, int zone) {
  const std::string forms = pause_part(call, zone) + repaired_form(call, zone, {});
  return forms.empty() ? forms : "<section><h2>Work on this zone</h2>\n" + forms + "</section>";
}

std::string main_part(const Call& call, const SiteView& view, const ZoneState& zone, const Shown& shown) {
  const auto& [range, before, inside, laid] = shown;
  const Config& config = call.site.config();
  const auto findings = findings_on(zone.number, call.site);
  const auto marks = marks_of(findings, range, config);
  return fmt::format(
      "<p class=\"kicker\">{}</p>\n{}{}{}<section><h2>Recorded current</h2>\n{}{}{}</section>\n{}<div "
      "class=\"columns even\"><div><section><h2>Runs</h2>\n{}"
      "</section>\n{}</div><div><section><h2>Findings</h2>\n{}</section>\n{}</div></div>\n",
      html(zone_heading(zone.number, zone.name)), verdict_part(verdict_of_zone(zone, view, config)),
      facts_of(zone, zone_words(zone, view), config), live_link(zone.number),
      range_links(zone, range, before), zone_chart({zone, range, inside, marks}, call.site),
      export_links(zone, range),
      runs_laid_part(before, laid, zone, laid_path(call, zone.number, range), call.site),
      runs_table(before, findings, call), switch_on_part(before, zone.normal, config),
      history_of(findings, call), work_part(call, zone.number));
}

Result<std::optional<UtcTime>> until_of(const Call& call) {
  const std::string text = call.query("until");
  if (text.empty()) return std::optional<UtcTime>();
  const auto time = parse_when(text, call.site.now(), call.site.config().site.timezone);
  if (!time) return time.error();
  return std::optional<UtcTime>(*time);
}

Result<int> laid_of(const Call& call) {
  if (call.query("lay").empty()) return kLaidUsual;
  return parse_number(call.query("lay"), 2, static_cast<int>(kRunsShown), "lay");
}

}  // namespace

ApiResponse get_zone_page(const Call& call) {
  const auto number = parse_number(call.args[0], 0, kMaxZone, "zone");
  if (!number) return problem(number.error());
  const SiteView view = view_of(call.site);
  const ZoneState* zone = zone_in(view, *number);
  if (!zone) return problem({Cause::not_found, fmt::format("the site has no zone {}", *number)});
  const auto until = until_of(call);
  if (!until) return problem(until.error());
  const UtcTime now = call.site.now();
  const auto before =
      latest_runs(call.site, *number, kNever, until->value_or(UtcTime::max()), kRunsShown + 1);
  if (!before) return problem(before.error());
  const auto range = zone_range(call.query("range"), *until, *before, now);
  if (!range) return problem(range.error());
  const auto inside = latest_runs(call.site, *number, range->from, range->until, kMostPoints);
  if (!inside) return problem(inside.error());
  const auto laid = laid_of(call);
  if (!laid) return problem(laid.error());
  PageParts parts{zone->name, main_part(call, view, *zone, {*range, *before, *inside, *laid})};
  parts.head = fmt::format(
      "<link rel=\"stylesheet\" href=\"{}\"><script defer src=\"{}\"></script><script defer "
      "src=\"{}\"></script>",
      asset_path("uplot.css"), asset_path("uplot.js"), asset_path("chart.js"));
  return page_response(call, parts);
}

}  // namespace coilward
