// The page of one finding: what happened, how sure, where, what was measured, what to measure next, what to
// be careful about, and what to do with it.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/wording.h"
#include "daemon/web/aside.h"
#include "daemon/web/finding_changes.h"
#include "daemon/web/finding_forecast.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_locate.h"
#include "daemon/web/page_notes.h"
#include "daemon/web/page_parts.h"

namespace coilward {
namespace {

constexpr std::size_t kMostOthers = 10;  // earlier findings of the same zones
constexpr const char* kOnTheWiring = "<p class=\"links\"><a href=\"/\">See it on the wiring</a></p>\n";

std::string value_text(double value, const std::string& unit) {
  return unit == "A" ? amps_text(value) : measured(value) ? fmt::format("{:.3g} {}", value, html(unit)) : "–";
}

std::string where_list(const Finding& finding) {
  if (finding.where.empty()) return "<p>Nothing can be said yet of the place.</p>\n";
  std::string out = fmt::format("<p>Along {}:</p>\n<ul>\n", html(conductor_words(finding)));
  for (const Stretch& stretch : finding.where)
    out += fmt::format("<li>{}: <strong>{} in 100</strong></li>\n", html(stretch_words(stretch)),
                       in_hundred_text(stretch.probability));
  return out + "</ul>\n" + kOnTheWiring;
}

std::string alternatives_list(const Finding& finding) {
  if (finding.alternatives.empty()) return {};
  std::string out = "<section><h2>It could also be</h2><ul>\n";
  for (const Alternative& other : finding.alternatives)
    out += fmt::format("<li>a {}: {} in 100</li>\n", fault_phrase(other.fault),
                       in_hundred_text(other.probability));
  return out + "</ul></section>\n";
}

bool share_zones(const Finding& a, const Finding& b) {
  return std::any_of(a.zones.begin(), a.zones.end(), [&](int zone) {
    return std::find(b.zones.begin(), b.zones.end(), zone) != b.zones.end();
  });
}

std::string others_part(const Finding& finding, const Call& call) {
  const auto all = call.site.findings(true);
  if (!all) return {};
  std::vector<Finding> others;
  for (const Finding& other : *all)
    if (other.id != finding.id && share_zones(other, finding) && others.size() < kMostOthers)
      others.push_back(other);
  if (others.empty()) return {};
  return "<section><h2>Other findings of the same zones</h2>\n" + finding_cards(others, call) +
         "</section>\n";
}

std::string repair_facts(const RepairedZone& z) {
  return fmt::format(
      "<p class=\"kicker\">Zone {}</p>\n<dl class=\"facts\"><div><dt>Before</dt><dd>{}</dd></div>"
      "<div><dt>With the fault</dt><dd>{}</dd></div><div><dt>Now</dt><dd>{}</dd></div>"
      "<div><dt>Should be</dt><dd>{}</dd></div></dl>\n",
      zone_label(z.zone), amps_text(z.before_amps), amps_text(z.fault_amps), amps_text(z.after_amps),
      measured(z.low_amps) ? fmt::format("{:.3f} to {:.3f} A", z.low_amps, z.high_amps) : "–");
}

std::string acknowledge_form(const Finding& finding, const Call& call) {
  const std::string by = call.site.acknowledged_by(finding.id);
  const UtcTime until = call.site.acknowledged_until(finding.id);
  if (!by.empty())
    return fmt::format("<p>Acknowledged by {}{}.</p>\n", html(by),
                       until == kNever ? "" : ", until " + time_tag(until, call.site.config()));
  if (!call.visitor.may(Need::acknowledge)) return {};
  return fmt::format(
      "<form method=\"post\" action=\"{}/acknowledge\" class=\"row\">{}{}<label "
      "for=\"ack-for\">No reminders</label><select id=\"ack-for\" name=\"for\"><option value=\"over\">until "
      "it is "
      "over</option><option value=\"1h\">for 1 hour</option><option value=\"8h\">for 8 hours</option><option "
      "value=\"morning\">until morning</option></select><button>Stop the repeats</button></form>\n",
      finding_path(finding), token_field(call), name_field(call, "by", "Your name, if you like"));
}

std::string actions_part(const Finding& finding, const Call& call) {
  if (!finding.is_open()) return {};
  std::string out = acknowledge_form(finding, call);
  const Config& config = call.site.config();
  if (!finding.common.empty() && config.common_by_id(finding.common) >= 0)
    out += repaired_form(call, -1, finding.common);
  else
    for (const int zone : finding.zones)
      if (config.zone(zone)) out += repaired_form(call, zone, {});
  if (finding.zones.size() == 1) out += pause_part(call, finding.zones.front());
  return out.empty() ? out : "<section><h2>What to do with it</h2>\n" + out + "</section>\n";
}

std::string state_line(const Finding& finding, const Config& config) {
  std::string text = fmt::format("<p>Since {}. How sure: {} in 100. {}.", time_tag(finding.opened, config),
                                 in_hundred_text(finding.probability), severity_words(finding.severity));
  if (!finding.is_open())
    text += fmt::format(" <strong>It ended {}</strong>{}.", time_tag(finding.closed, config),
                        finding.close_reason.empty() ? "" : ": " + html(finding.close_reason));
  text += "</p>\n<p>Zones: ";
  for (const int zone : finding.zones)
    text += fmt::format("<a href=\"{}\">{}</a> ", zone_path(zone), zone_label(zone));
  return text + "</p>\n";
}

std::string measured_part(const LocateParts& located) {
  if (located.readings.empty()) return {};
  return "<section id=\"measured\"><h2>Measured in the field</h2>\n" + located.readings + "</section>\n";
}

Verdict verdict_of_finding(const Finding& finding, const Config& config) {
  SiteView alone;
  alone.open = {finding};
  Verdict verdict = verdict_of(alone, config);
  if (!finding.is_open()) verdict.kind = "fine", verdict.head = "Over: " + verdict.head;
  return verdict;
}

// By what was measured so far where that leads to a place; else what is usual for such a fault.
std::string next_part_of(const Finding& finding, const LocateParts& located, const Config& config) {
  if (!finding.is_open()) return {};
  if (!located.next.empty())
    return fmt::format("<section class=\"next\"><h2>Next test</h2>\n{}{}</section>\n", located.next,
                       finding.zones.empty() ? "" : live_link(finding.zones.front()));
  const std::string care = cautions(finding.fault);
  return fmt::format(
      "<section class=\"next\"><h2>Next test</h2>\n<p>{}</p>\n{}{}</section>\n",
      html(next_reading(finding, config)),
      care.empty() ? "" : fmt::format("<p class=\"care\"><strong>Take care.</strong> {}</p>\n", html(care)),
      finding.zones.empty() ? "" : live_link(finding.zones.front()));
}

ApiResponse finding_page(const Call& call, const Finding& finding, const Result<Located>& found) {
  const Config& config = call.site.config();
  const Verdict verdict = verdict_of_finding(finding, config);
  const LocateParts located = locate_parts(call, finding, found);
  PageParts parts{verdict.head, {}};
  parts.main = fmt::format(
      "{}<p>{}</p>\n{}<p class=\"links\"><a href=\"{}/sheet\">Visit sheet, to print and take "
      "along</a></p>\n<div class=\"columns "
      "even\"><div>{}{}<section><h2>Where</h2>\n{}</section>\n</div><div><section><h2>Measured</h2>\n{}"
      "</section>\n{}{}{}{}{}{}{}</div></div>\n",
      verdict_part(verdict), html(finding.summary), state_line(finding, config), finding_path(finding),
      next_part_of(finding, located, config), measured_part(located),
      located.places.empty() ? where_list(finding) : located.places + kOnTheWiring,
      evidence_table(finding, config, call.site.now()), notes_part(call, finding),
      repair_part(finding, config), forecast_part(finding, config), alternatives_list(finding),
      actions_part(finding, call), changes_part(finding, call), others_part(finding, call));
  return page_response(call, parts);
}

}  // namespace

std::string evidence_table(const Finding& finding, const Config& config, UtcTime now) {
  if (finding.evidence.empty()) return "<p>Nothing was measured: it is known by what did not come.</p>\n";
  std::string out =
      "<table><thead><tr><th scope=\"col\">Measured on</th><th scope=\"col\" class=\"n\">Was</th>"
      "<th scope=\"col\" class=\"n\">Normal</th><th scope=\"col\" class=\"wide\">In the run "
      "of</th></tr></thead><tbody>\n";
  for (const Evidence& e : finding.evidence)
    out += fmt::format(
        "<tr><th scope=\"row\" class=\"break\">{}</th><td class=\"n\">{}</td><td class=\"n loose\">{} to "
        "{}</td><td "
        "class=\"wide\">{}</td></tr>\n",
        html(e.channel), value_text(e.observed, e.unit), value_text(e.low, e.unit),
        value_text(e.high, e.unit), short_time_tag(e.run, now, config));
  return out + "</tbody></table>\n";
}

std::string repair_part(const Finding& finding, const Config& config) {
  if (!finding.repair) return {};
  const RepairProof& repair = *finding.repair;
  const std::string_view state = !repair.proved   ? "not proved yet: the next run will tell"
                                 : *repair.proved ? "proved by its run"
                                                  : "not repaired";
  std::string out =
      fmt::format("<section><h2>Repair</h2>\n<p>Said to be repaired {}{}: <strong>{}</strong>.</p>\n",
                  time_tag(repair.marked, config), repair.new_coil ? ", with a new coil" : "", state);
  if (!repair.words.empty()) out += "<p>" + html(repair.words) + "</p>\n";
  for (const RepairedZone& zone : repair.zones) out += repair_facts(zone);
  return out + "</section>\n";
}

void get_finding_page(const Call& call, Respond respond) {
  auto finding = call.site.finding(call.args[0]);
  if (!finding) return respond(problem_for(call, finding.error()));
  auto question = locate_question(call.site, *finding);
  if (!question) return respond(finding_page(call, *finding, question.error()));
  answer_aside<Located>(
      call, [asked = std::move(*question)] { return work_out(asked); },
      [found = std::move(*finding)](const Call& kept, const Located& located) {
        return finding_page(kept, found, located);
      },
      std::move(respond));
}

}  // namespace coilward
