// What the site's volts and the common's balance usually are: slow means of healthy runs.
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
  UsualLevels levels_;
  int volts_runs_ = 0, zone_volts_runs_ = 0;
};

}  // namespace coilward
