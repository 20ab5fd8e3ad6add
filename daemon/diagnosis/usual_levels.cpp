#include "daemon/diagnosis/usual_levels.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Lightly loaded, a transformer stands above its rating (common practice: 24 V is 24 to 28 V, taken for two
// standard deviations either side).
constexpr double kAboveRated = 1.08, kFirstSd = 0.04;
// Mains wander through days and seasons, once learned.
constexpr double kLearnedSd = 0.02;
constexpr int kMemoryRuns = 60;

// What was there before the first run counts as `first` runs.
void average(double& mean, int& runs, double value, int first = 1) {
  mean += (value - mean) / (std::min(++runs, kMemoryRuns) + first);
}

}  // namespace

UsualLevelsLearner::UsualLevelsLearner(const SiteElectrics& site) {
  levels_.volts = levels_.zone_volts = kAboveRated * site.rated_volts;
  levels_.volts_sd = kFirstSd;
  levels_.returned.assign(site.zones.size(), 1.0);
  levels_.returned_runs.assign(site.zones.size(), 0);
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
  else if (measured(seen.sent_amps))
    average(levels_.returned[i], levels_.returned_runs[i], run.common_amps / seen.sent_amps, 0);
}

Json UsualLevelsLearner::save() const {
  return {{"volts", levels_.volts},
          {"volts_sd", levels_.volts_sd},
          {"zone_volts", levels_.zone_volts},
          {"returned", levels_.returned},
          {"returned_runs", levels_.returned_runs},
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
  levels_.returned = j.at("returned").get<std::vector<double>>();
  levels_.returned_runs = j.at("returned_runs").get<std::vector<int>>();
  levels_.unseen_amps = j.at("unseen_amps").get<std::vector<double>>();
  levels_.unseen_runs = j.at("unseen_runs").get<std::vector<int>>();
}

}  // namespace coilward
