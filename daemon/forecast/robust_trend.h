// A straight line through points, that a quarter of them being wrong does not bend. Thread: any.
#pragma once

#include <span>
#include <vector>

namespace coilward {

struct TrendPoint {
  double x = 0, y = 0;
};

struct Trend {
  double at_zero = 0, slope = 0;
  double at(double x) const { return at_zero + slope * x; }
};

double median_of(std::vector<double> values);  // of none: 0

// Theil (1950) and Sen (1968): the median of the slopes between all pairs, and the median of what is left. At
// least two points with different x; otherwise the slope is 0.
Trend theil_sen(std::span<const TrendPoint> points);

// Where the line begins that may be drawn out: the last point before which the points had not risen by a
// third of what they have risen to by now, so that what was level before is not taken for a part of the line.
// least: points that the line must have at any rate.
std::size_t trend_begin(std::span<const TrendPoint> points, std::size_t least);

}  // namespace coilward
