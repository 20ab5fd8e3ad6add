// Zones that have not run once since the watch began, although the others ran for longer than it takes a
// programme to come round: broken before the watch began, or in no programme. A timetable expects nothing of
// them.
//
// Thread: one at a time.
#pragma once

#include <set>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

class NeverRan {
 public:
  explicit NeverRan(const std::vector<int>& zones) : waiting_(zones.begin(), zones.end()) {}

  // A zone was energised, with or without a command.
  void ran(int zone, UtcTime start);
  // Those zones, each once.
  std::vector<int> overdue();

  Json save() const;
  void restore(const Json& saved);

 private:
  std::set<int> waiting_;  // have not run, and were not told
  UtcTime first_ = kNever, latest_ = kNever;
  int days_ = 0;  // with runs
};

}  // namespace coilward
