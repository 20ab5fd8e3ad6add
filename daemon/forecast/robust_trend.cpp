#include "daemon/forecast/robust_trend.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

constexpr std::size_t kNeighbours = 5;  // whose median tells a point from its noise
constexpr double kRisen = 0.3;          // of what it has risen to by now

double median_around(std::span<const TrendPoint> points, std::size_t at) {
  const std::size_t from =
      at < kNeighbours / 2
          ? 0
          : std::min(at - kNeighbours / 2, points.size() - std::min(points.size(), kNeighbours));
  std::vector<double> values;
  for (const TrendPoint& p : points.subspan(from, std::min(kNeighbours, points.size() - from)))
    values.push_back(p.y);
  return median_of(std::move(values));
}

}  // namespace

double median_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

Trend theil_sen(std::span<const TrendPoint> points) {
  std::vector<double> slopes, rests;
  slopes.reserve(points.size() * points.size() / 2);
  for (std::size_t i = 0; i < points.size(); ++i)
    for (std::size_t j = i + 1; j < points.size(); ++j)
      if (const double dx = points[j].x - points[i].x; dx != 0)
        slopes.push_back((points[j].y - points[i].y) / dx);
  Trend trend{0, median_of(std::move(slopes))};
  for (const TrendPoint& p : points) rests.push_back(p.y - trend.slope * p.x);
  trend.at_zero = median_of(std::move(rests));
  return trend;
}

std::size_t trend_begin(std::span<const TrendPoint> points, std::size_t least) {
  if (points.size() <= least) return 0;
  const double bottom = median_around(points, 0), now = median_around(points, points.size() - 1);
  std::size_t begin = points.size() - least;
  while (begin > 0 && median_around(points, begin - 1) > bottom + kRisen * (now - bottom)) --begin;
  return begin;
}

}  // namespace coilward
