// Zones that a controller switches on together: one turn of the programme, whichever of them is heard first.
// One that stays silent while the others of its turn run leaves no gap, and is noticed by its place among
// them.
//
// Thread: one at a time.
#pragma once

#include <map>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

class Together {
 public:
  void began(int zone, UtcTime start);  // a turn, with this zone
  void joined(int zone);                // the turn that began last
  // It takes part in the turn that began last.
  bool holds(int zone) const;
  // By which a turn is known: the lowest of those that usually take part in it.
  int leader(int zone) const;
  std::vector<int> partners(int zone) const;  // those that usually take part with it, rising

  struct Absent {
    int zone = 0;
    UtcTime start = kNever;  // of the turn it usually takes part in
  };
  // The cycle is over, `seen` ran in it: learns, and returns who was absent from a turn and did not run
  // elsewhere.
  std::vector<Absent> end_cycle(const std::vector<int>& seen);

  Json save() const;
  void restore(const Json& saved);

 private:
  struct Turn {
    UtcTime start;
    std::vector<int> zones;
  };

  std::map<int, std::vector<std::vector<int>>> with_;  // by zone: the others of its latest turns
  std::vector<Turn> turns_;                            // of this cycle
};

}  // namespace coilward
