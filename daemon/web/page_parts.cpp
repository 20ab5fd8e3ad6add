#include "daemon/web/page_parts.h"

#include <fmt/format.h>

#include "daemon/alerts/wording.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"

namespace coilward {
namespace {

std::string where_of(const Finding& finding) {
  if (finding.where.empty()) return {};
  const Stretch& best = finding.where.front();
  return fmt::format("<p>Most likely {} ({} in 100), {}.</p>", html(stretch_words(best)),
                     in_hundred_text(best.probability), html(conductor_words(finding)));
}

std::string card(const Finding& finding, const Call& call) {
  const Config& config = call.site.config();
  const std::string by = call.site.acknowledged_by(finding.id);
  const std::string kind(finding.is_open() ? severity_name(finding.severity) : "fine");
  std::string state = finding.is_open() ? std::string(severity_words(finding.severity)) : "Over";
  if (!finding.is_open() && finding.close_reason.starts_with("repaired")) state = "Repaired";
  return fmt::format(
      "<li class=\"card {0}\">{1}<div><p><a class=\"strong\" href=\"{2}\">{3}</a></p>{4}<p "
      "class=\"soft\">{5}. "
      "{6} in 100 sure. Since {7}{8}.{9}</p></div></li>\n",
      kind, icon(kind), finding_path(finding), html(headline(finding, config)), where_of(finding), state,
      in_hundred_text(finding.probability), time_tag(finding.opened, config),
      finding.is_open() ? "" : ", until " + time_tag(finding.closed, config),
      by.empty() ? "" : fmt::format(" Acknowledged by {}.", html(by)));
}

std::string running_pause(const Call& call, const AlertPause& pause) {
  const std::string words = fmt::format(
      "<p>Alerts {} are paused until {}{}. Runs meanwhile are kept and not judged.</p>",
      pause.scope.is_site() ? "of the site" : fmt::format("of zone {}", zone_label(pause.scope.zone)),
      time_tag(pause.until, call.site.config()), pause.who.empty() ? "" : ", by " + html(pause.who));
  if (!call.visitor.may(Need::technician)) return words + "\n";
  return fmt::format(
      "<form method=\"post\" action=\"/resume\" class=\"row\">{}{}{}"
      "<button>Let alerts come again</button></form>\n",
      token_field(call),
      pause.scope.is_site()
          ? ""
          : fmt::format("<input type=\"hidden\" name=\"zone\" value=\"{}\">", pause.scope.zone),
      words);
}

}  // namespace

std::string verdict_part(const Verdict& verdict) {
  return fmt::format("<div class=\"verdict {0}\">{1}<div><h1>{2}</h1>{3}</div></div>\n", verdict.kind,
                     icon(verdict.kind), html(verdict.head),
                     verdict.more.empty() ? "" : fmt::format("<p>{}</p>", html(verdict.more)));
}

std::string finding_cards(const std::vector<Finding>& findings, const Call& call) {
  std::string out = "<ul class=\"cards\">\n";
  for (const Finding& finding : findings) out += card(finding, call);
  return out + "</ul>\n";
}

std::string pause_part(const Call& call, int zone) {
  std::string out;
  for (const AlertPause& pause : call.site.pauses())
    if (pause.scope.is_site() || zone < 0 || pause.scope.zone == zone) out += running_pause(call, pause);
  if (!call.visitor.may(Need::technician)) return out;
  const std::string id = zone < 0 ? "site" : fmt::format("z{}", zone);
  return out + fmt::format(
                   "<form method=\"post\" action=\"/pause\" class=\"row\">{0}{1}<label for=\"for-{2}\">Hold "
                   "alerts {3} while "
                   "you work here, for</label><select id=\"for-{2}\" name=\"for\"><option value=\"2h\">2 "
                   "hours</option>"
                   "<option value=\"8h\">8 hours</option><option value=\"1d\">a day</option><option "
                   "value=\"7d\">a week</option>"
                   "</select><button>Pause alerts</button></form>\n",
                   token_field(call),
                   zone < 0 ? "" : fmt::format("<input type=\"hidden\" name=\"zone\" value=\"{}\">", zone),
                   id, zone < 0 ? "of the site" : fmt::format("of zone {}", zone_label(zone)));
}

std::string live_link(int zone) {
  return fmt::format(
      "<p class=\"links\"><a class=\"strong\" href=\"{}/live\">At the valve: what zone {} draws "
      "now</a></p>\n",
      zone_path(zone), zone_label(zone));
}

std::string repaired_form(const Call& call, int zone, const std::string& common) {
  if (!call.visitor.may(Need::technician)) return {};
  const bool of_common = !common.empty();
  return fmt::format(
      "<form method=\"post\" action=\"/repaired\" class=\"row\">{}<input type=\"hidden\" name=\"{}\" "
      "value=\"{}\">"
      "<p>Repaired? Findings end when the next runs prove it, and the draw is learned anew.</p>"
      "<label class=\"check\"><input type=\"checkbox\" name=\"new_coil\" value=\"1\"> Another coil was put "
      "in</label><button>Mark {} repaired</button></form>\n",
      token_field(call), of_common ? "common" : "zone", of_common ? html(common) : std::to_string(zone),
      of_common             ? "common " + html(common)
      : zone == kMasterZone ? "the master"
                            : fmt::format("zone {}", zone));
}

}  // namespace coilward
