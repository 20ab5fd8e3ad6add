#include "daemon/draw/warm_up.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/draw/robust.h"

namespace coilward {
namespace {

// It has fallen within some minutes; own judgement how many.
constexpr double kWarmsSeconds = 360;
// The early level is that of the first minute.
constexpr double kEarlySeconds = 40, kEarlyMostSeconds = 76;
constexpr double kLateReadings = 12;
// A run with less of its fall to show says nothing.
constexpr double kLeastShare = 0.12;
// The mains move within a run, and a sensor has steps that its own scatter does not show; own judgement, then
// learned.
constexpr double kMainsWithinRun = 0.008;
// A median's variance is pi/2 of a mean's.
constexpr double kOfMedian = 1.571;
// Each run the whole fall may have moved by so much (ground, season), relative.
constexpr double kMoves = 0.02;
// How well a whole fall is known at best: it is not the same in another season, nor in a longer run; own
// judgement.
constexpr double kBestKnown = 0.2;
// Of the learned noise scale.
constexpr double kLeastNoise = 0.1, kMostNoise = 30;

}  // namespace

WarmUpModel::WarmUpModel(std::size_t outputs) : whole_(outputs) {}

WarmUp WarmUpModel::seen(const Run& run) {
  WarmUp out;
  const bool alone = std::all_of(run.shared_with.begin(), run.shared_with.end(),
                                 [](int zone) { return zone == kMasterZone; });
  if (!alone || run.inferred || run.ended == RunEnd::cut_out || run.dips > 0 || run.readings < 8) return out;
  if (!measured(run.hold_amps) || !measured(run.last_amps) || run.end == kNever) return out;
  const double zero = measured(run.idle_amps) ? run.idle_amps : 0;
  const double early = run.hold_amps - zero, late = run.last_amps - zero;
  if (!(early > 0.03) || !(late > 0.5 * early)) return out;
  const double seconds = seconds_between(run.start, run.end), apart = seconds / run.readings;
  const double until = seconds - 0.5 * kLateReadings * apart;
  out.share = std::exp(-kEarlySeconds / kWarmsSeconds) - std::exp(-until / kWarmsSeconds);
  if (out.share < kLeastShare) return out;
  const double spread = run.hold_spread_amps / early;
  const double readings = std::max(1.0, kEarlyMostSeconds / apart);
  out.noise =
      std::sqrt(square(kMainsWithinRun) + square(spread) * kOfMedian * (1 / readings + 1 / kLateReadings));
  out.fall = std::log(early / late);
  return out;
}

WarmUpForecast WarmUpModel::forecast(int index, const WarmUp& seen) const {
  const Whole& whole = whole_[static_cast<std::size_t>(index)];
  const double mean = std::max(whole.mean, 1e-4);
  return {mean * seen.share, mean, std::sqrt(scale_) * seen.noise,
          std::hypot(std::sqrt(whole.variance) / mean, kBestKnown)};
}

void WarmUpModel::learn(int index, const WarmUp& seen, double weight) {
  if (!measured(seen.fall)) return;
  Whole& whole = whole_[static_cast<std::size_t>(index)];
  const double noise = scale_ * square(seen.noise), expected = whole.mean * seen.share;
  const double variance = square(seen.share) * whole.variance;
  const double surprise = square(seen.fall - expected) / (variance + noise);
  if (variance < 4 * noise) follow_median(scale_, surprise, kLeastNoise, kMostNoise);
  const double trusted = noise / std::max(1e-3, weight * tail_weight(surprise));
  const double gain = seen.share * whole.variance / (variance + trusted);
  whole.mean += gain * (seen.fall - expected);
  whole.variance = (1 - gain * seen.share) * whole.variance + square(kMoves * whole.mean);
}

void WarmUpModel::forget(int index) { whole_[static_cast<std::size_t>(index)] = {}; }

Json WarmUpModel::save() const {
  Json list = Json::array();
  for (const Whole& whole : whole_) list.push_back({whole.mean, whole.variance});
  return {{"whole", list}, {"scale", scale_}};
}

void WarmUpModel::restore(const Json& saved) {
  for (std::size_t i = 0; i < whole_.size(); ++i)
    whole_[i] = {saved.at("whole").at(i).at(0), saved.at("whole").at(i).at(1)};
  scale_ = saved.at("scale");
}

}  // namespace coilward
