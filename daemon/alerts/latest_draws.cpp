#include "daemon/alerts/latest_draws.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

double level_of(const Run& run) { return measured(run.hold_amps) ? run.hold_amps : run.last_amps; }

// What was seen of the zone's own current, of the latest run.
const Evidence* own_evidence(const Finding& finding, int zone) {
  const std::string channel = zone == kMasterZone ? "master/current" : fmt::format("zone/{}/current", zone);
  const Evidence* latest = nullptr;
  for (const auto& e : finding.evidence)
    if (e.channel == channel && measured(e.observed) && (!latest || e.run > latest->run)) latest = &e;
  return latest;
}

}  // namespace

void LatestDraws::run(const Run& run) {
  if (!measured(level_of(run))) return;
  auto& points = zones_[run.zone];
  points.push_back({run.start, level_of(run)});
  if (points.size() > kMostDrawn) points.pop_front();
}

std::optional<AlertDraw> LatestDraws::of(const Finding& finding) const {
  if (finding.zones.empty()) return std::nullopt;
  AlertDraw draw;
  draw.zone = finding.zones.front();
  UtcTime last = kNever;
  if (const auto it = zones_.find(draw.zone); it != zones_.end())
    for (const auto& point : it->second) draw.amps.push_back(point.amps), last = point.start;
  if (const Evidence* seen = own_evidence(finding, draw.zone)) {
    draw.low = seen->low;
    draw.high = seen->high;
    if (seen->run > last) draw.amps.push_back(seen->observed);  // the run is not over yet
  }
  if (draw.amps.size() > kMostDrawn) draw.amps.erase(draw.amps.begin());
  if (draw.amps.size() < kFewestRuns) return std::nullopt;
  return draw;
}

Json LatestDraws::save() const {
  Json json = Json::array();
  for (const auto& [zone, points] : zones_)
    for (const auto& point : points) json.push_back({zone, to_ms(point.start), point.amps});
  return json;
}

void LatestDraws::restore(const Json& saved) {
  zones_.clear();
  for (const auto& one : saved)
    zones_[one.at(0).get<int>()].push_back({from_ms(one.at(1).get<std::int64_t>()), one.at(2).get<double>()});
}

}  // namespace coilward
