#include "daemon/forecast/forecasts.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// A change of less than this is none: a day, or a tenth of the time that is left (own choice).
constexpr double kSameDays = 1, kSameShare = 0.1;

bool gets_worse(const Finding& finding) {
  return finding.is_open() && !finding.zones.empty() &&
         ((finding.fault == Fault::high_resistance && finding.zones.size() == 1) ||
          finding.fault == Fault::common_high_resistance);
}

// The same ohms take most from the one that draws most.
int fails_first(const std::vector<int>& zones, const std::vector<NormalDraw>& normals) {
  int first = zones.front();
  double most = 0;
  for (const NormalDraw& normal : normals)
    if (std::find(zones.begin(), zones.end(), normal.zone) != zones.end() && !normal.provisional &&
        measured(normal.hold_amps) && normal.hold_amps > most) {
      first = normal.zone;
      most = normal.hold_amps;
    }
  return first;
}

bool same(const std::optional<LiftForecast>& a, const std::optional<LiftForecast>& b, UtcTime now) {
  if (!a || !b) return a.has_value() == b.has_value();
  const double left = seconds_between(now, a->lift.likely) / 86'400;
  const double moved = std::abs(seconds_between(a->lift.likely, b->lift.likely)) / 86'400;
  return a->zone == b->zone && a->hold.has_value() == b->hold.has_value() &&
         moved <= std::max(kSameDays, kSameShare * left);
}

}  // namespace

void Forecasts::run(const Run& run) { record_.run(run); }

void Forecasts::repaired(const std::vector<int>& zones) {
  for (int zone : zones) record_.forget(zone);
}

std::optional<LiftForecast> Forecasts::forecast_of(const Finding& finding) const {
  if (!gets_worse(finding)) return std::nullopt;
  const std::vector<NormalDraw> normals = normals_();
  const int zone = fails_first(finding.zones, normals);
  auto forecast = forecast_draw(record_.shares(zone, finding.zones, normals), config_.forecast);
  if (forecast) forecast->zone = zone;
  return forecast;
}

bool Forecasts::look(const Finding& finding) {
  const auto found = forecast_of(finding);
  const auto said = said_.try_emplace(finding.id).first;
  if (same(said->second, found, finding.updated)) return false;
  said->second = found;
  return true;
}

Finding Forecasts::with(Finding finding) {
  if (!finding.is_open())
    said_.erase(finding.id);
  else if (gets_worse(finding) && !said_.contains(finding.id))
    look(finding);
  return as_said(std::move(finding));
}

Finding Forecasts::as_said(Finding finding) const {
  if (const auto it = said_.find(finding.id); it != said_.end() && gets_worse(finding))
    finding.forecast = it->second;
  return finding;
}

Json Forecasts::save() const {
  Json said = Json::object();
  for (const auto& [id, forecast] : said_) said[id] = forecast ? forecast_to_json(*forecast) : Json(nullptr);
  return {{"record", record_.save()}, {"said", said}};
}

void Forecasts::restore(const Json& saved) {
  record_.restore(saved.at("record"));
  said_.clear();
  for (const auto& [id, forecast] : saved.at("said").items())
    said_[id] = forecast.is_null() ? std::nullopt : std::optional(forecast_from_json(forecast));
}

}  // namespace coilward
