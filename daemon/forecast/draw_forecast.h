// When a zone's slowly falling draw will no longer lift its plunger, and when no longer hold it: a robust
// trend of the ohms that a corroding splice adds, drawn out until it reaches a threshold, with an interval.
//
// No clock, thread or file: time is an argument. Numbers are the same wherever it runs.
#pragma once

#include <optional>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// One run's level, as a share of what the zone would draw without the fault.
struct DrawShare {
  UtcTime time = kNever;
  double share = 1;
  double scale = 1;  // the ohms that it shows, to be multiplied: as the zone that is told of would feel them
};

// shares: oldest first; about two months of them are enough, the last kMostShares count. nullopt: there is no
// clear trend, too few runs, or the interval is too wide to be of use: it says nothing rather than something
// vague.
// The forecast's zone is the caller's to say. What several zones show within kOneDay is one point.
std::optional<LiftForecast> forecast_draw(const std::vector<DrawShare>& shares, const ForecastConfig& rules);

inline constexpr std::size_t kMostShares = 60;    // own choice
inline constexpr std::size_t kFewestShares = 10;  // since it began to fall
inline constexpr double kOneDay = 0.75;           // days; a zone's own points lie farther apart
// Useful: not wider than two weeks, or than the time that is left (own choice).
inline constexpr double kUsefulDays = 14;

}  // namespace coilward
