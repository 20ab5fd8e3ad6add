// What came back on each common while no output was seen to be on: some output's sensor sees nothing, or the
// output has none. Held against a turn that a zone is thought to have missed. The latest day, by the minute.
//
// Thread: one at a time. Not kept over a restart.
#pragma once

#include <deque>
#include <map>

#include "daemon/pipeline.h"

namespace coilward {

class UnseenReturns {
 public:
  // common: position in Config::commons. any_on: an output is, as far as is known.
  void reading(int common, UtcTime time, double amps, bool any_on);
  // Mean over [from, to]; NaN where it was not heard for most of it, or something was on.
  double amps(int common, UtcTime from, UtcTime to) const;

 private:
  struct Minute {
    UtcTime start;
    double sum = 0;
    int readings = 0;
    bool any_on = false;
  };
  std::map<int, std::deque<Minute>> minutes_;
};

}  // namespace coilward
