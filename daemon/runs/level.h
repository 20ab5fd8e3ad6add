// Robust levels of a handful of readings. Plain functions; the order of the values is not kept.
#pragma once

#include <span>
#include <vector>

namespace coilward {

// Median; NaN of nothing. Reorders `values`.
double median(std::span<double> values);

// 1.4826 times the median absolute deviation from `centre`: equals the standard deviation for normal noise
// (Hampel 1974; checked against R's mad()). NaN of nothing.
double scaled_mad(std::span<const double> values, double centre);

// Least squares slope of y on x; 0 when x does not vary.
double slope(std::span<const double> x, std::span<const double> y);

}  // namespace coilward
