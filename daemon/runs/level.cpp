#include "daemon/runs/level.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace coilward {

double median(std::span<double> values) {
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*std::max_element(values.begin(), middle) + *middle) / 2;
}

double scaled_mad(std::span<const double> values, double centre) {
  std::vector<double> distance(values.size());
  std::transform(values.begin(), values.end(), distance.begin(),
                 [&](double v) { return std::abs(v - centre); });
  return 1.4826 * median(distance);
}

double slope(std::span<const double> x, std::span<const double> y) {
  const double n = static_cast<double>(x.size());
  if (x.size() < 2) return 0;
  const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / n;
  const double mean_y = std::accumulate(y.begin(), y.end(), 0.0) / n;
  double xx = 0, xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  return xx > 0 ? xy / xx : 0;
}

}  // namespace coilward
