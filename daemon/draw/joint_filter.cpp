#include "daemon/draw/joint_filter.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {

std::size_t JointFilter::add(double mean, double variance) {
  const std::size_t size = mean_.size() + 1;
  std::vector<double> grown(size * size, 0.0);
  for (std::size_t row = 0; row + 1 < size; ++row)
    std::copy_n(covariance_.begin() + static_cast<std::ptrdiff_t>(row * stride_), size - 1,
                grown.begin() + static_cast<std::ptrdiff_t>(row * size));
  covariance_ = std::move(grown);
  stride_ = size;
  mean_.push_back(mean);
  at(size - 1, size - 1) = variance;
  return size - 1;
}

void JointFilter::times(std::span<const Loading> loadings, std::vector<double>& out) const {
  out.assign(size(), 0.0);
  for (const auto& [state, weight] : loadings) {
    const double* row = &covariance_[state * stride_];  // symmetric: the row is the column
    for (std::size_t i = 0; i < size(); ++i) out[i] += weight * row[i];
  }
}

Forecast JointFilter::forecast(std::span<const Loading> loadings) const {
  double mean = 0;
  for (const auto& [state, weight] : loadings) mean += weight * mean_[state];
  return {mean, covariance(loadings, loadings)};
}

double JointFilter::covariance(std::span<const Loading> a, std::span<const Loading> b) const {
  double sum = 0;
  for (const auto& [i, wi] : a)
    for (const auto& [j, wj] : b) sum += wi * wj * at(i, j);
  return sum;
}

void JointFilter::observe(std::span<const Loading> loadings, double value, double variance) {
  times(loadings, gain_);
  const Forecast seen = forecast(loadings);
  const double total = seen.variance + variance;
  if (!(total > 0)) return;
  for (std::size_t row = 0; row < size(); ++row) {
    const double k = gain_[row] / total;
    if (k == 0) continue;
    mean_[row] += k * (value - seen.mean);
    for (std::size_t column = 0; column < size(); ++column) at(row, column) -= k * gain_[column];
  }
}

void JointFilter::consider(std::span<const Loading> loadings, double value, double variance,
                           const std::vector<std::size_t>& moved) {
  times(loadings, gain_);
  const Forecast seen = forecast(loadings);
  const double total = seen.variance + variance;
  if (!(total > 0)) return;
  std::vector<double> by(size(), 0.0);
  for (std::size_t state : moved) by[state] = gain_[state] / total;
  for (std::size_t row = 0; row < size(); ++row) {
    mean_[row] += by[row] * (value - seen.mean);
    for (std::size_t column = 0; column < size(); ++column)
      at(row, column) += by[row] * by[column] * total - by[row] * gain_[column] - gain_[row] * by[column];
  }
}

void JointFilter::relax(std::size_t state, double keep, double variance) {
  mean_[state] *= keep;
  for (std::size_t i = 0; i < size(); ++i) {
    at(state, i) *= keep;
    at(i, state) *= keep;
  }
  at(state, state) += variance;
}

void JointFilter::copy(std::span<const Loading> loadings, std::size_t state) {
  const Forecast now = forecast(loadings);
  times(loadings, gain_);
  for (std::size_t i = 0; i < size(); ++i) at(state, i) = at(i, state) = gain_[i];
  mean_[state] = now.mean;
  at(state, state) = now.variance;
}

void JointFilter::forget(std::size_t state, double mean, double variance) {
  for (std::size_t i = 0; i < size(); ++i) at(state, i) = at(i, state) = 0;
  mean_[state] = mean;
  at(state, state) = variance;
}

namespace {

// Nine digits keep a covariance sound and its text short: it is written with every run.
double nine_digits(double value) {
  if (value == 0 || !std::isfinite(value)) return value;
  const double scale = std::pow(10.0, 8 - std::floor(std::log10(std::abs(value))));
  return std::isfinite(scale) && scale > 0 ? std::round(value * scale) / scale : value;
}

}  // namespace

Json JointFilter::save(std::size_t states) const {
  Json mean = Json::array(), lower = Json::array();
  for (std::size_t row = 0; row < states; ++row) mean.push_back(nine_digits(mean_[row]));
  for (std::size_t row = 0; row < states; ++row)
    for (std::size_t column = 0; column <= row; ++column) lower.push_back(nine_digits(at(row, column)));
  return {{"mean", mean}, {"lower", lower}};
}

bool JointFilter::restore(const Json& saved) {
  const auto mean = saved.at("mean").get<std::vector<double>>();
  const auto lower = saved.at("lower").get<std::vector<double>>();
  if (mean.size() > size() || lower.size() != mean.size() * (mean.size() + 1) / 2) return false;
  std::copy(mean.begin(), mean.end(), mean_.begin());
  std::size_t next = 0;
  for (std::size_t row = 0; row < mean.size(); ++row)
    for (std::size_t column = 0; column <= row; ++column) at(row, column) = at(column, row) = lower[next++];
  return true;
}

}  // namespace coilward
