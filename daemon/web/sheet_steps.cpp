#include <fmt/format.h>

#include "daemon/locate/reading_text.h"
#include "daemon/web/html.h"
#include "daemon/web/visit_parts_html.h"

namespace coilward {
namespace {

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string likely_text(const std::vector<Place>& places) {
  std::string text;
  for (std::size_t i = 0; i < places.size(); ++i)
    text += fmt::format("{}{} ({} in 100)", i == 0 ? "" : "; ", html(place_text(places[i])),
                        in_hundred_text(places[i].probability));
  return text;
}

std::string go_on(const GuideOutcome& outcome) {
  if (outcome.next_step)
    return fmt::format("Go on with <strong>reading&#160;{}</strong>.", outcome.next_step);
  if (outcome.solved && !outcome.places.empty())
    return fmt::format("Found: <strong>{}</strong>.", html(place_text(outcome.places.front())));
  const std::string likely = likely_text(outcome.places);
  if (outcome.more) return "Enter the readings and ask again. Likely then: " + likely + ".";
  return "Look after these in turn: " + likely + ".";
}

std::string outcome_rows(const GuideStep& step) {
  std::string rows;
  for (const GuideOutcome& outcome : step.outcomes)
    rows += fmt::format("<tr><th scope=\"row\"><span class=\"tickbox\"></span> {}</th><td>{}. {}</td></tr>\n",
                        html(expected_text(outcome.expect, step.reading.kind)),
                        capital(html(meaning_text(step.reading, outcome.expect))), go_on(outcome));
  return rows;
}

std::string step_html(const GuideStep& step, int level) {
  const char* unit = step.reading.kind == ReadingKind::ohms ? "ohms" : "volts";
  return fmt::format(
      "<div class=\"step keep\">{}<p>{} <span class=\"soft\">About {} minutes with the way.</span></p>\n"
      "<p class=\"mind\"><strong>Mind:</strong> {}</p>\n"
      "<table><thead><tr><th scope=\"col\">The meter shows</th><th "
      "scope=\"col\">Then</th></tr></thead><tbody>\n{}"
      "</tbody></table>\n<p class=\"write\">{} {} {}</p></div>\n",
      heading(level, fmt::format("Reading {}, {}", step.number, html(at_text(step.reading.at)))),
      html(task_text(step.reading)), step.reading.minutes, html(step.reading.caution), outcome_rows(step),
      blank("It showed", "short"), unit, blank("at (time)", "short"));
}

std::string nothing_to_measure(const VisitSheet& sheet) {
  if (sheet.location.solved && !sheet.location.places.empty())
    return fmt::format("<p>Found by what was measured: <strong>{}</strong>.</p>\n",
                       html(place_text(sheet.location.places.front())));
  if (sheet.usual.empty()) return {};
  return fmt::format("<p>{}</p>\n<p class=\"write\">{}</p><p class=\"write\">{}</p>\n", html(sheet.usual),
                     blank("It showed"), blank("It showed"));
}

}  // namespace

std::string steps_html(const VisitSheet& sheet, int level) {
  if (!sheet.finding.is_open()) return {};
  std::string out = "<section>" + heading(level, "Readings to take, in this order") + "\n";
  if (sheet.steps.empty()) return out + nothing_to_measure(sheet) + "</section>\n";
  out +=
      "<p>Begin with reading 1. After each, its table says which comes next; the others are not needed. Tick "
      "what the "
      "meter showed.</p>\n";
  for (const GuideStep& step : sheet.steps) out += step_html(step, level + 1);
  return out + "</section>\n";
}

}  // namespace coilward
