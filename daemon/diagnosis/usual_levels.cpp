#include "daemon/diagnosis/usual_levels.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Lightly loaded, a transformer stands above its rating (common practice: 24 V is 24 to 28 V, taken for two
// standard deviations either side).
constexpr double kAboveRated = 1.08, kFirstSd = 0.04;
// Mains wander through days and seasons, once learned.
constexpr double kLearnedSd = 0.02;
constexpr int kMemoryRuns = 60;
// Relative: what one current sensor may be off by, and how one run of a pair differs from the next (common
// practice: up to 3 %, and about 1 %). How much a site's sensors differ shows in those compared already,
// beside so many that were thought of.
constexpr double kSensorSd = 0.03, kRunSd = 0.01;
constexpr double kThoughtOf = 3;

double median(std::vector<double>& list) {
  const auto middle = list.begin() + static_cast<std::ptrdiff_t>(list.size() / 2);
  std::nth_element(list.begin(), middle, list.end());
  return *middle;
}

double in_square(double x) { return x * x; }

// What was there before the first run counts as `first` runs.
void average(double& mean, int& runs, double value, int first = 1) {
  mean += (value - mean) / (std::min(++runs, kMemoryRuns) + first);
}

}  // namespace

UsualLevelsLearner::UsualLevelsLearner(const SiteElectrics& site) : site_(site) {
  levels_.volts = levels_.zone_volts = kAboveRated * site.rated_volts;
  levels_.volts_sd = kFirstSd;
  returned_.assign(site.zones.size(), 1.0);
  returned_runs_.assign(site.zones.size(), 0);
  levels_.returned.assign(site.zones.size(), 1.0);
  levels_.returned_sd.assign(site.zones.size(), 0.0);
  compare_returned();
  levels_.unseen_amps.assign(site.zones.size(), 0.0);
  levels_.unseen_runs.assign(site.zones.size(), 0);
}

void UsualLevelsLearner::learn(const Run& run, const Observation& seen, bool usual_volts) {
  if (measured(run.supply_volts) && usual_volts) {
    average(levels_.volts, volts_runs_, run.supply_volts);
    levels_.volts_sd = std::max(kLearnedSd, kFirstSd / (1 + volts_runs_));
  }
  if (measured(run.zone_volts) && usual_volts) average(levels_.zone_volts, zone_volts_runs_, run.zone_volts);
  const auto i = static_cast<std::size_t>(seen.index);
  if (measured(seen.sent_amps) && seen.unseen_output)
    average(levels_.unseen_amps[i], levels_.unseen_runs[i], run.common_amps - seen.sent_amps, 0);
  else if (measured(seen.sent_amps)) {
    average(returned_[i], returned_runs_[i], run.common_amps / seen.sent_amps, 0);
    compare_returned();
  }
}

void UsualLevelsLearner::compare_returned() {
  for (std::size_t i = 0; i < returned_.size(); ++i) compare(i);
}

// The common's sensor is in all of its outputs' ratios, an output's own in one: the others say what to expect
// of it, and its own runs say it better.
void UsualLevelsLearner::compare(std::size_t output) {
  std::vector<double> others, apart;
  for (std::size_t i = 0; i < returned_.size(); ++i)
    if (i != output && returned_runs_[i] > 0 && site_.zones[i].common == site_.zones[output].common)
      others.push_back(std::log(std::max(returned_[i], 0.01)));
  const auto n = static_cast<double>(others.size());
  const double middle = others.empty() ? 0 : median(others);
  for (double it : others) apart.push_back(std::abs(it - middle));
  const double seen = apart.empty() ? 0 : 1.4826 * median(apart);  // Hampel 1974
  const double spread = (kThoughtOf * in_square(kSensorSd) + n * in_square(seen)) / (kThoughtOf + n);
  // Of the middle: with none to compare with, the common's own sensor.
  const double variance = spread * (1 + 1 / std::max(n, 1.0));
  const double weight = returned_runs_[output] / in_square(kRunSd),
               own = std::log(std::max(returned_[output], 0.01));
  levels_.returned[output] = std::exp((middle / variance + weight * own) / (1 / variance + weight));
  levels_.returned_sd[output] = std::max(kRunSd, 1 / std::sqrt(1 / variance + weight));
}

Json UsualLevelsLearner::save() const {
  return {{"volts", levels_.volts},
          {"volts_sd", levels_.volts_sd},
          {"zone_volts", levels_.zone_volts},
          {"returned", returned_},
          {"returned_runs", returned_runs_},
          {"unseen_amps", levels_.unseen_amps},
          {"unseen_runs", levels_.unseen_runs},
          {"volts_runs", volts_runs_},
          {"zone_volts_runs", zone_volts_runs_}};
}

void UsualLevelsLearner::restore(const Json& j) {
  levels_.volts = j.at("volts");
  levels_.volts_sd = j.at("volts_sd");
  levels_.zone_volts = j.at("zone_volts");
  volts_runs_ = j.at("volts_runs");
  zone_volts_runs_ = j.at("zone_volts_runs");
  if (j.at("returned").size() != levels_.returned.size()) return;
  returned_ = j.at("returned").get<std::vector<double>>();
  returned_runs_ = j.at("returned_runs").get<std::vector<int>>();
  compare_returned();
  levels_.unseen_amps = j.at("unseen_amps").get<std::vector<double>>();
  levels_.unseen_runs = j.at("unseen_runs").get<std::vector<int>>();
}

}  // namespace coilward
