#include "daemon/web/finding_forecast.h"

#include <fmt/format.h>

#include "daemon/web/html.h"

namespace coilward {
namespace {

int in_100(double share) { return static_cast<int>(std::lround(100 * share)); }

}  // namespace

std::string forecast_part(const Finding& finding, const Config& config) {
  if (!finding.forecast) return {};
  const LiftForecast& forecast = *finding.forecast;
  const std::string valve =
      finding.zones.size() > 1 ? fmt::format("zone {}, the first of them,", forecast.zone) : "the valve";
  std::string out = fmt::format(
      "<section><h2>How long it will still do</h2>\n<p>If it goes on like this, {} no longer opens "
      "between {} and {}, most likely about {}.",
      valve, time_tag(forecast.lift.low, config), time_tag(forecast.lift.high, config),
      time_tag(forecast.lift.likely, config));
  if (forecast.hold)
    out += fmt::format(" It no longer stays open from about {} on.", time_tag(forecast.hold->likely, config));
  return out + fmt::format(
                   "</p>\n<p class=\"soft\">By the trend of {} runs; such intervals hold in 80 of 100 cases. "
                   "It takes {} in 100 of its normal draw now; below {} in 100 a plunger is no longer lifted "
                   "(common practice).</p></section>\n",
                   forecast.runs, in_100(forecast.share_now), in_100(config.forecast.lift_share));
}

}  // namespace coilward
