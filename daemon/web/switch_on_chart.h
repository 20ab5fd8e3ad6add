// The switch-on of a zone as its sensor caught it (readings at most 50 ms apart): the current rises to the
// inrush peak and falls to the holding level when the plunger seats. The latest one over earlier ones and
// what was learned. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// <section>... of the latest run among `runs` (the latest first) that drew something and was caught finely;
// empty: there is none. Of a dead zone that is the last good one.
std::string switch_on_part(const std::vector<Run>& runs, const NormalDraw& normal, const Config& config);

}  // namespace coilward
