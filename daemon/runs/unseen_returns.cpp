#include "daemon/runs/unseen_returns.h"

namespace coilward {
namespace {

constexpr std::size_t kMostMinutes = 24 * 60;
// Of the turn's minutes, so many must have been heard; the first and the last are not whole.
constexpr double kHeardShare = 0.5;

}  // namespace

void UnseenReturns::reading(int common, UtcTime time, double amps, bool any_on) {
  auto& list = minutes_[common];
  const UtcTime minute = std::chrono::floor<std::chrono::minutes>(time);
  if (list.empty() || minute > list.back().start) list.push_back({minute});
  if (minute != list.back().start) return;  // late
  Minute& now = list.back();
  now.sum += amps;
  ++now.readings;
  now.any_on = now.any_on || any_on;
  if (list.size() > kMostMinutes) list.pop_front();
}

double UnseenReturns::amps(int common, UtcTime from, UtcTime to) const {
  const auto it = minutes_.find(common);
  if (it == minutes_.end()) return kNotMeasured;
  const UtcTime first = std::chrono::ceil<std::chrono::minutes>(from);
  double sum = 0;
  int heard = 0;
  for (const Minute& minute : it->second) {
    if (minute.start < first || minute.start + std::chrono::minutes(1) > to) continue;
    if (minute.any_on) return kNotMeasured;
    sum += minute.sum / minute.readings;
    ++heard;
  }
  const double whole = seconds_between(first, to) / 60;
  return heard > 0 && heard >= kHeardShare * whole ? sum / heard : kNotMeasured;
}

}  // namespace coilward
