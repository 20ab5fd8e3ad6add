// When a zone's slowly falling draw will no longer lift its plunger, and when no longer hold it: a robust
// trend of the ohms that a corroding splice adds, drawn out until it reaches a threshold, with an interval.
//
// No clock, thread or file: time is an argument. Numbers are the same wherever it runs.
#pragma once

#include <optional>
#include <vector>

#include "daemon/base/time.h"

namespace coilward {

// One run's level, as a share of what the zone would draw without the fault.
struct DrawShare {
  UtcTime time = kNever;
  double share = 1;
};

struct ForecastRules {
  // Share of the normal draw below which the plunger is not lifted any more, and below which it drops. Common
  // practice: a 24 V valve is to open with some 20 V at it and holds with far less; from memory, so that they
  // can be set.
  double lift_share = 0.80;
  double hold_share = 0.50;
};

// An interval that holds the true instant in 80 of 100 cases (draw_forecast_backtest_test.cpp).
struct ForecastTime {
  UtcTime low = kNever, likely = kNever, high = kNever;
};

struct DrawForecast {
  ForecastTime lift;                 // no longer lifted from then on: the zone stays dry
  std::optional<ForecastTime> hold;  // no longer held; left out where that is too far to be said
  double share_now = 1;              // by the trend
  int runs = 0;                      // the trend is made of
};

// shares: oldest first; about two months of them are enough, the last kMostShares count. nullopt: there is no
// clear trend, too few runs, or the interval is too wide to be of use: it says nothing rather than something
// vague.
std::optional<DrawForecast> forecast_draw(const std::vector<DrawShare>& shares, const ForecastRules& rules);

inline constexpr std::size_t kMostShares = 60;    // own choice
inline constexpr std::size_t kFewestShares = 10;  // since it began to fall
inline constexpr double kLongestForecastDays = 120;
// Useful: not wider than two weeks, or than the time that is left (own choice).
inline constexpr double kUsefulDays = 14;

}  // namespace coilward
