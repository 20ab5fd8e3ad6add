#include "daemon/web/finding_forecast.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/forecast/run_shares.h"
#include "daemon/web/html.h"

namespace coilward {
namespace {

constexpr Millis kLookBack = std::chrono::hours{24 * 90};
constexpr std::size_t kMostRuns = 5000;  // of all zones: one small read

std::vector<Run> runs_of(const SiteAccess& site) {
  std::vector<Run> runs = site.pending_runs();
  const auto history = site.open_history();
  if (!history) return runs;
  RunQuery query;
  query.from = site.now() - kLookBack;
  query.limit = kMostRuns;
  query.latest_first = true;
  if (auto kept = history->runs(query)) runs.insert(runs.end(), kept->begin(), kept->end());
  return runs;
}

Json time_to_json(const ForecastTime& time) {
  return {{"low", time_or_null(time.low)},
          {"likely", time_or_null(time.likely)},
          {"high", time_or_null(time.high)}};
}

}  // namespace

std::optional<DrawForecast> forecast_of(const Finding& finding, const SiteAccess& site) {
  if (!finding.is_open() || finding.fault != Fault::high_resistance || finding.zones.size() != 1)
    return std::nullopt;
  std::vector<NormalDraw> normals;
  for (const ZoneState& zone : site.zones()) normals.push_back(zone.normal);
  return forecast_draw(shares_of(finding.zones.front(), runs_of(site), normals), {});
}

Json forecast_to_json(const DrawForecast& forecast) {
  return {{"no_longer_lifts", time_to_json(forecast.lift)},
          {"no_longer_holds", forecast.hold ? time_to_json(*forecast.hold) : Json(nullptr)},
          {"share_now", number_or_null(forecast.share_now)},
          {"runs", forecast.runs},
          {"interval", 0.8}};
}

std::string forecast_part(const std::optional<DrawForecast>& forecast, const Config& config) {
  if (!forecast) return {};
  std::string out = fmt::format(
      "<section><h2>How long it will still do</h2>\n<p>If it goes on like this, the valve no longer opens "
      "between {} and {}, "
      "most likely about {}.",
      time_tag(forecast->lift.low, config), time_tag(forecast->lift.high, config),
      time_tag(forecast->lift.likely, config));
  if (forecast->hold)
    out +=
        fmt::format(" It no longer stays open from about {} on.", time_tag(forecast->hold->likely, config));
  return out + fmt::format(
                   "</p>\n<p class=\"soft\">By the trend of {} runs; such intervals hold in 80 of 100 cases. "
                   "It takes {} in 100 of "
                   "its normal draw now; below 80 in 100 a plunger is no longer lifted (common "
                   "practice).</p></section>\n",
                   forecast->runs, static_cast<int>(std::lround(100 * forecast->share_now)));
}

}  // namespace coilward
