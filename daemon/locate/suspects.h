// finding -> suspects: every place where its fault may be, with what would be wrong there and how likely it
// is before any test reading. Thread: any.
#pragma once

#include <vector>

#include "daemon/config/config.h"
#include "daemon/locate/ladder.h"
#include "daemon/locate/place.h"
#include "daemon/pipeline.h"

namespace coilward {

struct Suspect {
  Place place;
  Defect defect = Defect::none;
  int spot = 0;  // see ladder.h
  double weight = 0;
};

// Another zone, as far as it speaks for a common: one that draws has a whole common as far as its box.
struct Neighbour {
  int zone = 0;
  bool draws = false;  // at its latest run
  bool since = false;  // and that run began after the finding opened
};

// Which zone's wire the technician measures at: the finding's first with a box; else its first; the master
// output only when there is no other. -1: none.
int zone_to_measure(const Config& config, const Finding& finding);

// Weights sum to 1; empty where a place means nothing (a sensor). Least likely ones are kept: a reading may
// show that what was thought impossible is so.
std::vector<Suspect> suspects_of(const Config& config, const Finding& finding, const WirePath& path,
                                 const std::vector<Neighbour>& neighbours);

}  // namespace coilward
