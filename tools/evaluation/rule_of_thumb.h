// What people do without a diagnosis, to compare with: learn the mean of five runs; below 80 % of it is a
// high resistance, above 120 % a shorted coil, next to nothing an open circuit, and two such zones one after
// the other a failed common.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <vector>

#include "tools/evaluation/record.h"

namespace coilward::evaluate {

class RuleOfThumb {
 public:
  void run(const Run& run, UtcTime now);  // finished
  std::vector<Told> take() { return std::move(told_); }

 private:
  struct Zone {
    int learned = 0;
    double sum = 0;
  };
  void say(int zone, Fault fault, UtcTime now);
  void dead(int zone, UtcTime now);
  void close(int zone, UtcTime now);
  void tell(Finding finding, UtcTime now);

  std::map<int, Zone> zones_;
  std::map<int, Finding> open_;  // by zone
  std::set<int> dead_;
  std::optional<Finding> common_;
  std::vector<Told> told_;
};

}  // namespace coilward::evaluate
