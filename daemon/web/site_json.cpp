#include "daemon/web/site_json.h"

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

Json run_summary(const std::optional<Run>& run) {
  if (!run) return nullptr;
  Json json = run_to_json(*run);
  json.erase("burst");
  return json;
}

Json text_or_null(const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); }

}  // namespace

Json zone_to_json(const ZoneState& zone, const Config& config) {
  const ZoneConfig* configured = config.zone(zone.number);
  const bool boxed = configured && configured->box >= 0;
  return {
      {"zone", zone.number},
      {"name", zone.name},
      {"box", boxed ? Json(config.boxes.at(static_cast<std::size_t>(configured->box)).id) : Json(nullptr)},
      {"common",
       configured ? Json(config.commons.at(static_cast<std::size_t>(configured->common)).id) : Json(nullptr)},
      {"on", zone.on},
      {"state", zone.state},
      {"normal", normal_draw_to_json(zone.normal)},
      {"last_run", run_summary(zone.last_run)},
      {"latest_amps", number_or_null(zone.latest_amps)},
      {"latest_time", time_or_null(zone.latest_time)},
      {"findings", zone.findings}};
}

Json site_finding_to_json(const Finding& finding, const SiteAccess& site) {
  Json json = finding_to_json(finding, site.config().site.id);
  json["acknowledged_by"] = text_or_null(site.acknowledged_by(finding.id));
  return json;
}

bool all_ok(const std::vector<HealthStage>& stages) {
  for (const HealthStage& stage : stages)
    if (!stage.ok) return false;
  return true;
}

Json health_to_json(const std::vector<HealthStage>& stages) {
  Json list = Json::array();
  for (const HealthStage& stage : stages)
    list.push_back(
        {{"stage", stage.name}, {"ok", stage.ok}, {"why", stage.why}, {"since", time_or_null(stage.since)}});
  return {{"ok", all_ok(stages)}, {"stages", list}};
}

Json pause_to_json(const AlertPause& pause) {
  return {{"zone", pause.scope.is_site() ? Json(nullptr) : Json(pause.scope.zone)},
          {"from", time_or_null(pause.from)},
          {"until", time_or_null(pause.until)},
          {"by", text_or_null(pause.who)}};
}

Json site_to_json(const SiteAccess& site) {
  const Config& config = site.config();
  Json commons = Json::array(), pauses = Json::array();
  for (const CommonConfig& common : config.commons) commons.push_back(common.id);
  for (const AlertPause& pause : site.pauses()) pauses.push_back(pause_to_json(pause));
  Json json = {{"site", config.site.id},
               {"name", config.site.name},
               {"timezone", config.site.timezone},
               {"now", time_or_null(site.now())},
               {"zones", config.zones.size()},
               {"commons", commons},
               {"pauses", pauses}};
  json.update(site.about());
  return json;
}

}  // namespace coilward
