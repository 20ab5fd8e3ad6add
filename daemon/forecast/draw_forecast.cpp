#include "daemon/forecast/draw_forecast.h"

#include <algorithm>
#include <cmath>
#include <random>

#include "daemon/forecast/robust_trend.h"

namespace coilward {
namespace {

constexpr double kDayMs = 86'400'000;
constexpr int kResamples = 60;           // for each power factor
constexpr std::uint64_t kSeed = 0x5eed;  // fixed: the same runs give the same interval
constexpr double kInterval = 0.80;       // of the cases
constexpr double kLeastRise = 0.02;      // of the normal impedance, over the trend: less is no trend

// Resistance over impedance of a zone whose plunger is held: 30 to 65 of 100, common practice, from memory.
// Which it is nobody knows, so the lines that are tried are dealt out over the range.
constexpr double kPowerFactors[] = {0.32, 0.39, 0.46, 0.53, 0.60};

// Ohms added, as a share of the zone's impedance: what grows along a line, where the share of the draw does
// not.
double added(double share, double power_factor) {
  const double draw = std::max(share, 0.02);
  return std::sqrt(std::max(0.0, power_factor * power_factor - 1 + 1 / (draw * draw))) - power_factor;
}

struct Line {
  Trend trend;
  double power_factor = 0;
};

double quantile(std::vector<double> sorted, double share) {
  std::sort(sorted.begin(), sorted.end());
  const double at = share * static_cast<double>(sorted.size() - 1);
  const auto low = static_cast<std::size_t>(at);
  const std::size_t high = std::min(low + 1, sorted.size() - 1);
  return sorted[low] + (at - static_cast<double>(low)) * (sorted[high] - sorted[low]);
}

// A line leaves less at a point than the noise there was, the less the more the point pulls it: the estimate
// HC3 (MacKinnon and White 1985). A tenth more, as the beginning was chosen by the same points (set by the
// back-test).
std::vector<double> rests_of(const std::vector<TrendPoint>& points, const Trend& trend) {
  constexpr double kChosen = 1.1;
  double mean = 0, spread = 0;
  const double n = static_cast<double>(points.size());
  for (const TrendPoint& p : points) mean += p.x / n;
  for (const TrendPoint& p : points) spread += (p.x - mean) * (p.x - mean);
  std::vector<double> rests;
  for (const TrendPoint& p : points) {
    const double pull = 1 / n + (spread > 0 ? (p.x - mean) * (p.x - mean) / spread : 0);
    rests.push_back(kChosen * (p.y - trend.at(p.x)) / (1 - std::min(pull, 0.9)));
  }
  return rests;
}

// Lines that the same splice might have shown: each rest with a sign of chance (the wild bootstrap, Wu 1986),
// since a wet splice wanders more the worse it is.
void resample(const std::vector<TrendPoint>& points, double power_factor, std::mt19937_64& random,
              std::vector<Line>& lines) {
  const Trend trend = theil_sen(points);
  const auto rests = rests_of(points, trend);
  std::vector<TrendPoint> again = points;
  for (int i = 0; i < kResamples; ++i) {
    for (std::size_t k = 0; k < points.size(); ++k)
      again[k].y = trend.at(points[k].x) + (random() & 1 ? rests[k] : -rests[k]);
    lines.push_back({theil_sen(again), power_factor});
  }
}

double left_over(std::span<const TrendPoint> points, double level) {
  double sum = 0;
  for (const TrendPoint& p : points) sum += std::abs(p.y - level);
  return sum;
}

double median_level(std::span<const TrendPoint> points) {
  std::vector<double> values;
  for (const TrendPoint& p : points) values.push_back(p.y);
  return median_of(std::move(values));
}

// A step that stays as it is makes a line too, while few runs have come since: it explains them better.
bool is_step(std::span<const TrendPoint> points, const Trend& trend) {
  double line = 0;
  for (const TrendPoint& p : points) line += std::abs(p.y - trend.at(p.x));
  for (std::size_t split = 2; split + 2 <= points.size(); ++split) {
    const auto before = points.first(split), after = points.subspan(split);
    if (left_over(before, median_level(before)) + left_over(after, median_level(after)) < line) return true;
  }
  return false;
}

double crossing(const Line& line, double share) {
  const double level = added(share, line.power_factor);
  return line.trend.slope > 0 ? (level - line.trend.at_zero) / line.trend.slope
                              : std::numeric_limits<double>::infinity();
}

// Days from x = 0; nullopt: not useful.
std::optional<ForecastTime> when(const std::vector<Line>& lines, double share, UtcTime origin,
                                 double horizon_days) {
  std::vector<double> days;
  for (const Line& line : lines) days.push_back(crossing(line, share));
  const double low = quantile(days, (1 - kInterval) / 2), likely = quantile(days, 0.5),
               high = quantile(days, (1 + kInterval) / 2);
  const bool useful = std::isfinite(high) && likely <= horizon_days && high > 0 &&
                      high - low <= std::max(kUsefulDays, likely);
  if (!useful) return std::nullopt;
  const auto time = [&](double x) { return origin + Millis{static_cast<std::int64_t>(x * kDayMs)}; };
  return ForecastTime{time(low), time(likely), time(high)};
}

// Several zones' points of one day, one after the other, are one: the median of what they show.
std::vector<TrendPoint> a_day_each(const std::vector<TrendPoint>& points) {
  std::vector<TrendPoint> days;
  for (std::size_t from = 0, to = 0; from < points.size(); from = to) {
    std::vector<double> values;
    double sum = 0;
    for (; to < points.size() && points[to].x - points[from].x < kOneDay; ++to) {
      values.push_back(points[to].y);
      sum += points[to].x;
    }
    days.push_back({sum / static_cast<double>(to - from), median_of(std::move(values))});
  }
  return days;
}

std::vector<TrendPoint> points_of(const std::vector<DrawShare>& shares, UtcTime origin, double power_factor) {
  std::vector<TrendPoint> points;
  for (const DrawShare& one : shares)
    if (std::isfinite(one.share) && one.share > 0)
      points.push_back({static_cast<double>((one.time - origin).count()) / kDayMs,
                        one.scale * added(one.share, power_factor)});
  points = a_day_each(points);
  if (points.size() > kMostShares) points.erase(points.begin(), points.end() - kMostShares);
  return points;
}

}  // namespace

// The last run's time is x = 0.
std::optional<LiftForecast> forecast_draw(const std::vector<DrawShare>& shares, const ForecastConfig& rules) {
  if (shares.size() < kFewestShares) return std::nullopt;
  const UtcTime origin = shares.back().time;
  std::mt19937_64 random(kSeed);
  std::vector<Line> lines;
  LiftForecast forecast;
  for (const double power_factor : kPowerFactors) {
    auto points = points_of(shares, origin, power_factor);
    if (points.size() < kFewestShares) return std::nullopt;
    points.erase(points.begin(),
                 points.begin() + static_cast<std::ptrdiff_t>(trend_begin(points, kFewestShares)));
    const Trend trend = theil_sen(points);
    if (trend.slope * -points.front().x < kLeastRise || is_step(points, trend) ||
        trend.at_zero >= added(rules.lift_share, power_factor))
      return std::nullopt;
    resample(points, power_factor, random, lines);
    const double grown = trend.at_zero + power_factor;
    forecast.share_now = 1 / std::sqrt(1 + grown * grown - power_factor * power_factor);
    forecast.runs = static_cast<int>(points.size());
  }
  const auto lift = when(lines, rules.lift_share, origin, rules.horizon_days);
  if (!lift) return std::nullopt;
  forecast.lift = *lift;
  forecast.hold = when(lines, rules.hold_share, origin, rules.horizon_days);
  return forecast;
}

}  // namespace coilward
