#include <fmt/format.h>

#include "daemon/web/html.h"
#include "daemon/web/visit_parts_html.h"

namespace coilward {
namespace {

std::string repaired_row(const RepairedZone& z) {
  return fmt::format(
      "<tr><th scope=\"row\">{}</th><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td>"
      "<td class=\"n loose\">{}</td></tr>\n",
      zone_label(z.zone), amps_text(z.before_amps), amps_text(z.fault_amps), amps_text(z.after_amps),
      measured(z.low_amps) ? fmt::format("{:.3f} to {:.3f} A", z.low_amps, z.high_amps) : "–");
}

std::string proof_table(const RepairProof& proof) {
  std::string rows;
  for (const RepairedZone& zone : proof.zones) rows += repaired_row(zone);
  return fmt::format(
      "<table><thead><tr><th scope=\"col\">Zone</th><th scope=\"col\" class=\"n\">Before</th><th "
      "scope=\"col\" "
      "class=\"n\">With the fault</th><th scope=\"col\" class=\"n\">After</th><th scope=\"col\" "
      "class=\"n\">Should "
      "be</th></tr></thead><tbody>\n{}</tbody></table>\n",
      rows);
}

// What a repair that was marked says of itself.
std::string record_of(const VisitSheet& sheet, const Config& config) {
  const auto& proof = sheet.finding.repair;
  const std::string_view state = !sheet.finding.is_open()   ? "proved, and the finding is closed"
                                 : !proof || !proof->proved ? "not proved yet: the next run will tell"
                                 : *proof->proved           ? "proved by its run"
                                                            : "not repaired: it does not draw what it should";
  std::string out = fmt::format("<p>Said to be repaired {}{}{}: <strong>{}</strong>.</p>\n",
                                time_tag(sheet.kept.repaired, config),
                                sheet.kept.repaired_by.empty() ? "" : " by " + html(sheet.kept.repaired_by),
                                proof && proof->new_coil ? ", with a new coil" : "", state);
  if (proof && !proof->zones.empty()) out += proof_table(*proof);
  if (proof && !proof->words.empty()) out += "<p>" + html(proof->words) + "</p>\n";
  return out;
}

std::string room_for_record(const VisitSheet& sheet, const Config& config) {
  const std::string target = repair_target_name(sheet, config), should = repair_target_text(sheet);
  std::string out = fmt::format(
      "<p class=\"write\">{}</p><p class=\"write\">{}</p>\n<p class=\"write\">{} {}</p>\n<p "
      "class=\"write\">{} A{} {}</p>\n",
      blank("What was wrong"), blank("What was done, parts put in"), blank("By", "half"), blank("on", "half"),
      blank("It draws after the repair", "short"),
      should.empty() ? "" : fmt::format(" (it should draw {})", should), blank("at (time)", "short"));
  if (!target.empty())
    out += fmt::format(
        "<p>When it is mended, say so: mark it on the finding's page, or <kbd>coilward repaired {}</kbd>{}. "
        "The next "
        "run is the judge.</p>\n",
        html(target),
        sheet.finding.common.empty() ? " (with <kbd>--new-coil</kbd> when another coil was put in)" : "");
  return out;
}

}  // namespace

std::string repair_html(const VisitSheet& sheet, const Call& call, int level) {
  const Config& config = call.site.config();
  std::string out = "<section class=\"keep\">" + heading(level, "Repair") + "\n";
  if (sheet.kept.repaired != kNever) out += record_of(sheet, config);
  if (!sheet.finding.is_open())
    out += fmt::format("<p>The finding ended {}{}.</p>\n", time_tag(sheet.finding.closed, config),
                       sheet.finding.close_reason.empty() ? "" : ": " + html(sheet.finding.close_reason));
  const bool proved = sheet.finding.repair && sheet.finding.repair->proved.value_or(false);
  if (sheet.finding.is_open() && !proved) out += room_for_record(sheet, config);
  return out + "</section>\n";
}

}  // namespace coilward
