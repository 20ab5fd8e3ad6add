// How long a corroding splice will still do, from the recorded runs. Thread: the SiteAccess's.
#pragma once

#include <optional>
#include <string>

#include "daemon/forecast/draw_forecast.h"
#include "daemon/web/site_access.h"

namespace coilward {

// Of an open high_resistance of one zone; nullopt for others, and where nothing useful can be said.
std::optional<DrawForecast> forecast_of(const Finding& finding, const SiteAccess& site);
// {"no_longer_lifts": {"low", "likely", "high"}, "no_longer_holds": the same or null, "share_now", "runs",
// "interval": 0.8}
Json forecast_to_json(const DrawForecast& forecast);
// A section of the finding's page; empty for nullopt.
std::string forecast_part(const std::optional<DrawForecast>& forecast, const Config& config);

}  // namespace coilward
