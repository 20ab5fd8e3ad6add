// How long a site usually goes without watering: learned from runs, so that one that has fallen silent
// altogether is noticed where no command says that it should run. A rain delay and a day off the programme
// are no silence.
//
// Thread: one at a time.
#pragma once

#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

class PauseWatch {
 public:
  // A zone was energised, with or without a command.
  void ran(UtcTime start, UtcTime end);
  // The latest run's end, once nothing has run for longer than any pause and any rain delay; kNever: no, or
  // told already. heard_since: silence counts only while the sensors were heard; kNever: they always were.
  UtcTime silent_since(UtcTime now, UtcTime heard_since);

  Json save() const;
  void restore(const Json& saved);

 private:
  double usual_pause_s() const;

  std::vector<double> pauses_s_;  // between the latest waterings
  UtcTime first_ = kNever;        // start of the first run
  UtcTime end_ = kNever;          // of the latest run
  bool told_ = false;
};

}  // namespace coilward
