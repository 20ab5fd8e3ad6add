// The visit sheet as JSON.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/wording.h"
#include "daemon/locate/reading_text.h"
#include "daemon/web/html.h"
#include "daemon/web/page_notes.h"
#include "daemon/web/site_json.h"
#include "daemon/web/visit_sheet.h"

namespace coilward {
namespace {

Json named_place(const Place& place) {
  Json json = place_to_json(place);
  json["text"] = place_text(place);
  return json;
}

Json named_places(const std::vector<Place>& places) {
  Json list = Json::array();
  for (const Place& place : places) list.push_back(named_place(place));
  return list;
}

Json outcome_to_json(const GuideStep& step, const GuideOutcome& outcome) {
  return {{"shows", expected_text(outcome.expect, step.reading.kind)},
          {"low", outcome.expect.low},
          {"high", outcome.expect.high},
          {"means", meaning_text(step.reading, outcome.expect)},
          {"next_step", outcome.next_step ? Json(outcome.next_step) : Json(nullptr)},
          {"solved", outcome.solved},
          {"ask_again", outcome.more},
          {"places", named_places(outcome.places)}};
}

Json steps_to_json(const std::vector<GuideStep>& steps) {
  Json list = Json::array();
  for (const GuideStep& step : steps) {
    Json json = {{"step", step.number}, {"task", task_text(step.reading)}};
    json.update(next_to_json(step.reading));
    json.erase("expect");
    json["outcomes"] = Json::array();
    for (const GuideOutcome& outcome : step.outcomes)
      json["outcomes"].push_back(outcome_to_json(step, outcome));
    list.push_back(std::move(json));
  }
  return list;
}

Json zones_to_json(const Finding& finding, const Config& config) {
  Json list = Json::array();
  for (const int number : finding.zones) {
    const ZoneConfig* zone = config.zone(number);
    if (!zone) continue;
    list.push_back(
        {{"zone", number},
         {"name", zone->name},
         {"box", zone->box < 0 ? Json(nullptr) : Json(config.boxes[static_cast<std::size_t>(zone->box)].id)},
         {"common", config.commons[static_cast<std::size_t>(zone->common)].id},
         {"wire", gauge_text(zone->wire)}});
  }
  return list;
}

Json path_to_json(const WirePath& path, const Config& config) {
  Json list = Json::array();
  for (const Stop& stop : path.stops)
    list.push_back(
        {{"at", stop.name}, {"metres", stop.metres}, {"length", length_text(stop.metres, config)}});
  return list;
}

Json runs_to_json(const std::vector<Run>& runs) {
  Json list = Json::array();
  for (const Run& run : runs)
    list.push_back({{"start", time_or_null(run.start)}, {"hold_amps", number_or_null(run.hold_amps)}});
  return list;
}

Json parts_to_json(const std::vector<VisitPart>& parts) {
  Json list = Json::array();
  for (const VisitPart& part : parts) list.push_back({{"what", part.what}, {"for", part.where}});
  return list;
}

Json repair_record(const VisitSheet& sheet, const Config& config) {
  return {{"target", repair_target_name(sheet, config)},
          {"should_draw", repair_target_text(sheet)},
          {"marked", time_or_null(sheet.kept.repaired)},
          {"by", sheet.kept.repaired_by},
          {"proof", sheet.finding.repair ? repair_to_json(*sheet.finding.repair) : Json(nullptr)}};
}

}  // namespace

Json sheet_to_json(const VisitSheet& sheet, const SiteAccess& site) {
  const Config& config = site.config();
  Json json = site_finding_to_json(sheet.finding, site);
  json["title"] = sheet.title;
  json["site_name"] = config.site.name;
  json["zones_named"] = zones_to_json(sheet.finding, config);
  json["zone"] = sheet.zone < 0 ? Json(nullptr) : Json(sheet.zone);
  json["normal"] = sheet.zone < 0 ? Json(nullptr) : normal_draw_to_json(sheet.normal);
  json["runs"] = runs_to_json(sheet.runs);
  json["path"] = path_to_json(sheet.path, config);
  json["places"] = named_places(sheet.location.places);
  json["solved"] = sheet.location.solved;
  json["steps"] = steps_to_json(sheet.steps);
  json["usual"] = sheet.usual;
  json["measured"] = readings_to_json(site, sheet.finding, sheet.kept, sheet.location)["readings"];
  json["bring"] = parts_to_json(sheet.parts);
  json["cautions"] = sheet.cautions;
  json["notes"] = Json::array();
  if (const auto notes = site.notes(sheet.finding.id))
    for (const FieldNote& note : *notes) json["notes"].push_back(note_to_json(note));
  json["repair_record"] = repair_record(sheet, config);
  return json;
}

Json site_visit_to_json(const SiteVisit& visit, const SiteAccess& site) {
  Json sheets = Json::array();
  for (const VisitSheet& sheet : visit.sheets) sheets.push_back(sheet_to_json(sheet, site));
  return {{"site", site.config().site.id},       {"site_name", site.config().site.name},
          {"bring", parts_to_json(visit.parts)}, {"cautions", visit.cautions},
          {"left_out", visit.left_out},          {"sheets", std::move(sheets)}};
}

}  // namespace coilward
