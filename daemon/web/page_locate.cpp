#include "daemon/web/page_locate.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/locate/cautions.h"
#include "daemon/locate/reading_text.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/reading_forms.h"
#include "daemon/web/site_location.h"

namespace coilward {
namespace {

constexpr double kWorthShowing = 0.005;  // of a place; below, it is under one in a hundred
constexpr std::size_t kMostPlaces = 12;

double chance_before(const Place& place, const std::vector<Place>& before) {
  for (const Place& other : before)
    if (other.same_spot(place)) return other.probability;
  return 0;
}

std::string chance_text(double probability) {
  return probability < kWorthShowing ? "under 1" : std::to_string(in_hundred_text(probability));
}

// The places as they were before the latest reading stand beside what they are now.
std::string places_table(const Location& now, const std::vector<Place>& before) {
  std::string rows;
  std::size_t shown = 0;
  for (const Place& place : now.places) {
    const double was = chance_before(place, before);
    if (std::max(place.probability, was) < kWorthShowing || ++shown > kMostPlaces) continue;
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td class=\"n\"><strong>{}</strong></td>{}</tr>\n",
                        html(place_text(place)), chance_text(place.probability),
                        before.empty() ? "" : fmt::format("<td class=\"n\">{}</td>", chance_text(was)));
  }
  return fmt::format(
      "<table><thead><tr><th scope=\"col\">Place</th><th scope=\"col\" class=\"n\">In 100</th>{}</tr></thead>"
      "<tbody>\n{}</tbody></table>\n",
      before.empty() ? "" : "<th scope=\"col\" class=\"n\">Before the last reading</th>", rows);
}

std::string care_part(const std::string& words) {
  return fmt::format("<p class=\"care\"><strong>Take care.</strong> {}</p>\n", html(words));
}

std::string next_reading_part(const Location& now) {
  if (!now.next) {
    const Place& first = now.places.front();
    return fmt::format(
        "<p>{} <strong>{}</strong> ({} in 100).</p>\n{}",
        now.solved ? "Found:"
                   : "No other reading is worth its while. Look after the likely places below, "
                     "first",
        html(place_text(first)), in_hundred_text(first.probability), care_part(mending_caution(first)));
  }
  std::string out =
      fmt::format("<p>{} <span class=\"soft\">About {} minutes with the way.</span></p>\n<ul>\n",
                  html(task_text(*now.next)), now.next->minutes);
  for (const ExpectedReading& expected : now.next->expect)
    out += fmt::format("<li><strong>{}</strong>: {}</li>\n", expected_text(expected, now.next->kind),
                       html(meaning_text(*now.next, expected)));
  return out + "</ul>\n" + care_part(now.next->caution);
}

std::string fits(const KeptReadings& kept, const Location& now, std::size_t i) {
  if (i < kept.first) return "from before the repair";
  return now.explained[i - kept.first] ? "fits" : "no place explains it";
}

std::string readings_table(const Call& call, const KeptReadings& kept, const Location& now) {
  if (kept.readings.empty()) return "<p>Nothing was measured in the field yet.</p>\n";
  std::string rows;
  for (std::size_t i = kept.readings.size(); i-- > 0;) {
    const TestReading& r = kept.readings[i];
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}<br><span class=\"soft\">{}</span></td><td "
        "class=\"wide\">{}</td></tr>\n",
        short_time_tag(r.taken, call.site.now(), call.site.config()), html(at_text(r.at)),
        html(shown_text(r)), fits(kept, now, i), r.by.empty() ? "–" : html(r.by));
  }
  return "<table><thead><tr><th scope=\"col\">When</th><th scope=\"col\">Where</th><th "
         "scope=\"col\">Showed</th><th scope=\"col\" class=\"wide\">By</th></tr></thead><tbody>\n" +
         rows + "</tbody></table>\n";
}

}  // namespace

Result<LocateQuestion> locate_question(const SiteAccess& site, const Finding& finding) {
  const auto rows = site.test_readings(finding.id);
  if (!rows) return rows.error();
  KeptReadings kept = kept_readings(*rows);
  LocateInput input = locate_input(site, finding, kept);
  return LocateQuestion{std::move(kept), std::move(input)};
}

Located work_out(const LocateQuestion& question) {
  Located located{question.kept, locate_fault(question.input), {}};
  if (question.input.readings.empty()) return located;
  LocateInput earlier = question.input;
  earlier.readings.pop_back();
  located.before = locate_fault(earlier).places;
  return located;
}

LocateParts locate_parts(const Call& call, const Finding& finding, const Result<Located>& located) {
  if (!located)
    return {{}, {}, fmt::format("<p>Test readings cannot be read: {}</p>\n", html(located.error().what))};
  const auto& [kept, now, before] = *located;
  LocateParts parts;
  if (!kept.readings.empty() || !now.places.empty()) parts.readings = readings_table(call, kept, now);
  if (!now.odd.empty()) parts.readings += fmt::format("<p class=\"care\">{}</p>\n", html(now.odd));
  if (now.places.empty()) return parts;
  parts.places = places_table(now, before);
  if (!finding.is_open()) return parts;
  parts.next = next_reading_part(now);
  parts.readings += reading_forms(call, finding, now);
  return parts;
}

}  // namespace coilward
