#include "daemon/web/visit_parts_html.h"

#include <fmt/format.h>

#include "daemon/locate/reading_text.h"
#include "daemon/web/html.h"
#include "daemon/web/page_notes.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/visit_drawings.h"

namespace coilward {
namespace {

constexpr int kNoteLines = 5;

std::string sheet_fact(std::string_view name, const std::string& value) {
  return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>\n", name, value);
}

std::string zone_facts(const VisitSheet& sheet, const Config& config) {
  const ZoneConfig* zone = sheet.zone >= 0 ? config.zone(sheet.zone) : nullptr;
  if (!zone) return {};
  const ConductorConfig& common = config.commons[static_cast<std::size_t>(zone->common)].wire;
  std::string out = sheet_fact("Zone", html(zone_heading(zone->number, zone->name)));
  if (zone->box >= 0) out += sheet_fact("Box", html(config.boxes[static_cast<std::size_t>(zone->box)].id));
  out += sheet_fact("Zone wire", gauge_text(zone->wire));
  return out +
         sheet_fact("Common",
                    fmt::format("{}, {}", html(config.commons[static_cast<std::size_t>(zone->common)].id),
                                gauge_text(common)));
}

std::string head_facts(const VisitSheet& sheet, const Config& config) {
  const Finding& f = sheet.finding;
  std::string zones;
  for (const int zone : f.zones) zones += (zones.empty() ? "" : ", ") + zone_label(zone);
  return "<dl class=\"facts\">\n" + sheet_fact("Site", html(config.site.name)) +
         sheet_fact("Since", time_tag(f.opened, config)) +
         sheet_fact("How sure", fmt::format("{} in 100", in_hundred_text(f.probability))) +
         sheet_fact("Pressing", std::string(severity_words(f.severity))) +
         (f.zones.size() > 1 ? sheet_fact("Zones that are out", html(zones)) : "") +
         zone_facts(sheet, config) + "</dl>\n<p class=\"soft\">Finding " + html(f.id) + "</p>\n";
}

std::string marked_table(const VisitSheet& sheet) {
  const auto marked = marked_places(sheet.location);
  std::string rows;
  for (std::size_t i = 0; i < marked.size(); ++i)
    rows += fmt::format(
        "<tr><td class=\"n\"><span class=\"mark\">{}</span></td><th scope=\"row\">{}</th><td "
        "class=\"n\">{}</td></tr>\n",
        i + 1, html(place_text(marked[i])), in_hundred_text(marked[i].probability));
  return fmt::format(
      "<table class=\"tight\"><thead><tr><th scope=\"col\" class=\"n\">No.</th><th "
      "scope=\"col\">Place</th><th "
      "scope=\"col\" class=\"n\">In 100</th></tr></thead><tbody>\n{}</tbody></table>\n",
      rows);
}

std::string where_html(const VisitSheet& sheet, const Config& config, int level) {
  std::string out = "<section class=\"keep\">" + heading(level, "Where") + "\n" + path_sketch(sheet, config);
  if (!sheet.path.stops.empty() && sheet.path.last() > 0)
    out += fmt::format(
        "<p class=\"soft\">Upper line: {}. Lower line: its common. Dashed and numbered: where the fault may "
        "be, 1 "
        "first. Wires that branch off are left out.</p>\n",
        sheet.zone == kMasterZone ? "the master's wire" : fmt::format("the wire of zone {}", sheet.zone));
  if (!sheet.location.places.empty()) return out + marked_table(sheet) + "</section>\n";
  if (sheet.finding.where.empty())
    return out + "<p>Nothing can be said yet of a place along the wire.</p></section>\n";
  for (const Stretch& stretch : sheet.finding.where)
    out += fmt::format("<p>{} {}: {} in 100</p>\n", html(conductor_words(sheet.finding)),
                       html(stretch_words(stretch)), in_hundred_text(stretch.probability));
  return out + "</section>\n";
}

std::string evidence_html(const VisitSheet& sheet, const Config& config, UtcTime now, int level) {
  return fmt::format(
      "<section class=\"keep\">{}\n<div class=\"beside\"><div>{}</div><div>{}</div></div></section>\n",
      heading(level, "Evidence"), run_bars(sheet, config), evidence_table(sheet.finding, config, now));
}

std::string measured_html(const VisitSheet& sheet, const Config& config, UtcTime now, int level) {
  if (sheet.kept.readings.empty()) return {};
  std::string rows;
  for (std::size_t i = 0; i < sheet.kept.readings.size(); ++i) {
    const TestReading& r = sheet.kept.readings[i];
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td><td>{}{}</td><td>{}</td></tr>\n",
                        short_time_tag(r.taken, now, config), html(at_text(r.at)), html(shown_text(r)),
                        i < sheet.kept.first ? " (before the repair)" : "", r.by.empty() ? "–" : html(r.by));
  }
  return fmt::format(
      "<section class=\"keep\">{}\n<table><thead><tr><th scope=\"col\">When</th><th "
      "scope=\"col\">Where</th><th "
      "scope=\"col\">Showed</th><th "
      "scope=\"col\">By</th></tr></thead><tbody>\n{}</tbody></table></section>\n",
      heading(level, "Measured so far"), rows);
}

std::string notes_html(const std::string& kept, int level) {
  std::string lines;
  for (int i = 0; i < kNoteLines; ++i) lines += "<p class=\"write\">" + blank("") + "</p>\n";
  return "<section><div class=\"keep\">" + heading(level, "Notes") + "\n" + lines +
         "</div>\n<div class=\"photos\">" + kept + "</div></section>\n";
}

}  // namespace

std::string heading(int level, const std::string& text_html) {
  return fmt::format("<h{0}>{1}</h{0}>", level, text_html);
}

std::string blank(std::string_view word, std::string_view kind) {
  return fmt::format("<span class=\"blank {}\"><span>{}</span></span>", kind, word);
}

std::string bring_list(const std::vector<VisitPart>& parts) {
  std::string out = "<ul class=\"ticks\">\n";
  for (const VisitPart& part : parts)
    out += fmt::format("<li><span class=\"tickbox\"></span> {} <span class=\"soft\">({})</span></li>\n",
                       html(part.what), html(part.where));
  return out + "</ul>\n";
}

std::string care_list(const std::vector<std::string>& cautions) {
  std::string out = "<ul class=\"cautions\">\n";
  for (const std::string& words : cautions) out += "<li>" + html(words) + "</li>\n";
  return out + "</ul>\n";
}

std::string sheet_html(const VisitSheet& sheet, const Call& call, int level) {
  const Config& config = call.site.config();
  const UtcTime now = call.site.now();
  std::string out =
      fmt::format("<article class=\"sheet\">\n{}\n<p>{}</p>\n{}", heading(level, html(sheet.title)),
                  html(sheet.finding.summary), head_facts(sheet, config));
  out += where_html(sheet, config, level + 1) + evidence_html(sheet, config, now, level + 1) +
         measured_html(sheet, config, now, level + 1);
  out += "<section class=\"keep\">" + heading(level + 1, "Take care") + "\n" + care_list(sheet.cautions) +
         "</section>\n";
  if (!sheet.parts.empty())
    out += "<section class=\"keep\">" + heading(level + 1, "Bring along") + "\n" + bring_list(sheet.parts) +
           "</section>\n";
  return out + steps_html(sheet, level + 1) + notes_html(notes_on_sheet(call, sheet.finding), level + 1) +
         repair_html(sheet, call, level + 1) + "</article>\n";
}

}  // namespace coilward
