// What the site's volts and the common's balance usually are: slow means of healthy runs. How a zone's sensor
// compares with its common's is told by those of the others too, from the first day.
#pragma once

#include "daemon/base/pipeline_json.h"
#include "daemon/config/config.h"
#include "daemon/diagnosis/observation.h"

namespace coilward {

// Thread: one at a time.
class UsualLevelsLearner {
 public:
  explicit UsualLevelsLearner(const SiteElectrics& site);
  const UsualLevels& levels() const { return levels_; }
  // usual_volts: the supply is as it always is.
  void learn(const Run& run, const Observation& seen, bool usual_volts);
  Json save() const;
  void restore(const Json& saved);

 private:
  void compare_returned();
  void compare(std::size_t output);

  const SiteElectrics& site_;
  UsualLevels levels_;
  std::vector<double> returned_;  // by output: mean of its own runs
  std::vector<int> returned_runs_;
  int volts_runs_ = 0, zone_volts_runs_ = 0;
};

}  // namespace coilward
