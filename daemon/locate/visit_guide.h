// The readings of a visit in order, for paper: which one first, and after each outcome which one next or
// where the fault then is. What locate would propose after each reading, thought through beforehand. Thread:
// any.
#pragma once

#include <vector>

#include "daemon/locate/locate.h"

namespace coilward {

struct GuideOutcome {
  ExpectedReading expect;
  int next_step = 0;          // number of the reading to go on with; 0: none
  bool solved = false;        // one place is left
  bool more = false;          // other readings would help, but paper ends here: ask again with what was read
  std::vector<Place> places;  // that are then likely, most probable first; not all
};

struct GuideStep {
  int number = 1;
  NextReading reading;
  std::vector<GuideOutcome> outcomes;
};

// At most so many readings, the nearer ones first.
inline constexpr std::size_t kMostGuideSteps = 7;
std::vector<GuideStep> visit_guide(const LocateInput& input, std::size_t most = kMostGuideSteps);

}  // namespace coilward
