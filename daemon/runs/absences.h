// Zones that ran in every cycle and are in none any more: after a programme was set anew nobody knows where
// they would stand in it, so no gap shows that they are missing. Forgotten at the controller or meant to be,
// their owner will want to know once.
//
// Thread: one at a time.
#pragma once

#include <map>
#include <vector>

#include "daemon/base/pipeline_json.h"

namespace coilward {

class Absences {
 public:
  // A cycle is over. Returns the zones that have now been away for kAwayTold whole cycles.
  std::vector<int> end_cycle(const std::vector<int>& seen);

  Json save() const;
  void restore(const Json& saved);

 private:
  struct Row {
    int present = 0, absent = 0;  // cycles in a row
  };
  std::map<int, Row> rows_;  // by zone
};

}  // namespace coilward
