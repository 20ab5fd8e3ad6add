// The sheets that a technician takes along, on paper or on the phone: of one finding, and of all that are
// open.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/locate/reading_text.h"
#include "daemon/web/aside.h"
#include "daemon/web/assets.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"
#include "daemon/web/visit_parts_html.h"
#include "daemon/web/visit_routes.h"
#include "daemon/web/visit_sheet.h"

namespace coilward {
namespace {

constexpr const char* kPrintIt =
    "<p class=\"screen\">Print this page, or save it as a PDF, with the browser's own print: A4 or Letter, "
    "black and "
    "white will do.</p>\n";

// Written on while it is shown: it does not load itself again.
ApiResponse sheet_page(const Call& call, const std::string& title, std::string main) {
  PageParts parts{title, std::move(main)};
  parts.live = false;
  parts.head = fmt::format("<link rel=\"stylesheet\" href=\"{}\">", asset_path("sheet.css"));
  return page_response(call, parts);
}

using ShowSheet = ApiResponse (*)(const Call&, const VisitSheet&);
using ShowVisit = ApiResponse (*)(const Call&, const SiteVisit&);

void show_sheet(const Call& call, ShowSheet show, Respond respond) {
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return respond(problem_for(call, finding.error()));
  auto question = sheet_question(call.site, *finding);
  if (!question) return respond(problem_for(call, question.error()));
  answer_aside<VisitSheet>(
      call, [asked = std::move(*question)] { return work_out(asked); }, show, std::move(respond));
}

void show_visit(const Call& call, ShowVisit show, Respond respond) {
  auto question = visit_question(call.site);
  if (!question) return respond(problem_for(call, question.error()));
  answer_aside<SiteVisit>(
      call, [asked = std::move(*question)] { return work_out(asked); }, show, std::move(respond));
}

std::string visit_row(const VisitSheet& sheet, std::size_t number) {
  const auto& places = sheet.location.places;
  return fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td></tr>\n", number, html(sheet.title),
                     places.empty() ? "–" : html(place_text(places.front())));
}

std::string overview(const SiteVisit& visit) {
  std::string rows;
  for (std::size_t i = 0; i < visit.sheets.size(); ++i) rows += visit_row(visit.sheets[i], i + 1);
  std::string out = fmt::format(
      "<table><thead><tr><th scope=\"col\">No.</th><th scope=\"col\">What</th><th scope=\"col\">Likeliest "
      "place</th></tr></thead><tbody>\n{}</tbody></table>\n",
      rows);
  if (visit.left_out > 0)
    out += fmt::format("<p>{} more findings are open; their pages have sheets of their own.</p>\n",
                       visit.left_out);
  return out;
}

ApiResponse sheet_alone(const Call& call, const VisitSheet& sheet) {
  return sheet_page(
      call, "Visit sheet: " + sheet.title,
      fmt::format("<p class=\"kicker\">Visit sheet</p>\n{}<p class=\"links screen\"><a href=\"{}\">To the "
                  "finding, where readings are entered</a></p>\n{}",
                  kPrintIt, finding_path(sheet.finding), sheet_html(sheet, call, 1)));
}

ApiResponse visit_page(const Call& call, const SiteVisit& visit) {
  const std::string title = "Visit to " + call.site.config().site.name;
  if (visit.sheets.empty())
    return sheet_page(call, title,
                      heading(1, html(title)) + "\n<p>No finding is open: nothing is to be repaired.</p>\n");
  std::string main = fmt::format(
      "{}{}{}<section class=\"keep\"><h2>Take care</h2>\n{}</section>\n<section class=\"keep\"><h2>Bring "
      "along</h2>\n{}</section>\n",
      heading(1, html(title)), kPrintIt, overview(visit), care_list(visit.cautions), bring_list(visit.parts));
  for (const VisitSheet& sheet : visit.sheets) main += sheet_html(sheet, call, 2);
  return sheet_page(call, title, main);
}

ApiResponse sheet_json(const Call& call, const VisitSheet& sheet) {
  return json_response(sheet_to_json(sheet, call.site));
}

ApiResponse visit_json(const Call& call, const SiteVisit& visit) {
  return json_response(site_visit_to_json(visit, call.site));
}

}  // namespace

void get_sheet_page(const Call& call, Respond respond) { show_sheet(call, sheet_alone, std::move(respond)); }
void get_visit_page(const Call& call, Respond respond) { show_visit(call, visit_page, std::move(respond)); }
void get_sheet(const Call& call, Respond respond) { show_sheet(call, sheet_json, std::move(respond)); }
void get_visit(const Call& call, Respond respond) { show_visit(call, visit_json, std::move(respond)); }

}  // namespace coilward
