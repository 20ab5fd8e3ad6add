#include "daemon/web/visit_sheet.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/wording.h"
#include "daemon/web/page_words.h"
#include "daemon/web/zone_range.h"

namespace coilward {
namespace {

constexpr std::size_t kSheetRuns = 8;  // as many as a drawing of a phone's width has room for

int zone_of_sheet(const Finding& finding, const Config& config) {
  if (const int zone = zone_to_measure(config, finding); zone >= 0) return zone;
  return finding.zones.empty() ? -1 : finding.zones.front();
}

void take_zone(const SiteAccess& site, VisitSheet& sheet) {
  sheet.zone = zone_of_sheet(sheet.finding, site.config());
  if (sheet.zone < 0) return;
  sheet.path = wire_path(site.config(), sheet.zone);
  for (const ZoneState& zone : site.zones())
    if (zone.number == sheet.zone) sheet.normal = zone.normal;
  auto runs = latest_runs(site, sheet.zone, kNever, UtcTime::max(), kSheetRuns);
  if (runs) sheet.runs = std::move(*runs);
}

bool same_part(const VisitPart& a, const VisitPart& b) { return a.what == b.what; }

void gather(SiteVisit& visit, const VisitSheet& sheet) {
  for (const VisitPart& part : sheet.parts)
    if (std::ranges::none_of(visit.parts, [&](const VisitPart& p) { return same_part(p, part); }))
      visit.parts.push_back(part);
  for (const std::string& words : sheet.cautions)
    if (std::ranges::find(visit.cautions, words) == visit.cautions.end()) visit.cautions.push_back(words);
}

}  // namespace

Result<SheetQuestion> sheet_question(const SiteAccess& site, const Finding& finding) {
  const auto rows = site.test_readings(finding.id);
  if (!rows) return rows.error();
  VisitSheet sheet;
  sheet.finding = finding;
  sheet.title = headline(finding, site.config());
  sheet.kept = kept_readings(*rows);
  sheet.cautions = visit_cautions(finding.fault);
  take_zone(site, sheet);
  LocateInput input = locate_input(site, finding, sheet.kept);
  return SheetQuestion{std::move(sheet), std::move(input)};
}

VisitSheet work_out(SheetQuestion question) {
  VisitSheet& sheet = question.sheet;
  sheet.location = locate_fault(question.input);
  if (!sheet.finding.is_open()) return std::move(sheet);
  sheet.steps = visit_guide(question.input);
  const Config& config = question.input.config;
  sheet.parts = visit_parts(config, sheet.finding, sheet.location, sheet.steps);
  if (sheet.steps.empty() && !sheet.location.solved) sheet.usual = next_reading(sheet.finding, config);
  return std::move(sheet);
}

Result<VisitQuestion> visit_question(const SiteAccess& site) {
  const SiteView view = view_of(site);
  if (!view.unread.empty()) return Error{Cause::world, view.unread};
  VisitQuestion visit;
  for (const Finding& finding : view.open) {
    if (visit.sheets.size() == kMostSheets) break;
    auto question = sheet_question(site, finding);
    if (!question) return question.error();
    visit.sheets.push_back(std::move(*question));
  }
  visit.left_out = view.open.size() - visit.sheets.size();
  return visit;
}

SiteVisit work_out(VisitQuestion question) {
  SiteVisit visit;
  visit.left_out = question.left_out;
  for (SheetQuestion& one : question.sheets) {
    visit.sheets.push_back(work_out(std::move(one)));
    gather(visit, visit.sheets.back());
  }
  return visit;
}

std::string repair_target_text(const VisitSheet& sheet) {
  const auto band = [](double low, double high) {
    return measured(low) ? fmt::format("{:.3f} to {:.3f} A", low, high) : std::string();
  };
  if (sheet.finding.repair)
    for (const RepairedZone& zone : sheet.finding.repair->zones)
      if (zone.zone == sheet.zone && measured(zone.low_amps)) return band(zone.low_amps, zone.high_amps);
  return band(sheet.normal.hold_low, sheet.normal.hold_high);
}

std::string repair_target_name(const VisitSheet& sheet, const Config& config) {
  if (!sheet.finding.common.empty() && config.common_by_id(sheet.finding.common) >= 0)
    return sheet.finding.common;
  return sheet.zone >= 0 && config.zone(sheet.zone) ? std::to_string(sheet.zone) : std::string();
}

}  // namespace coilward
