// What a zone drew, run by run, as a share of what it would draw now without a fault: the learned normal
// draw, and what moves all zones together (season, supply) as the other zones show it. Thread: any.
#pragma once

#include <vector>

#include "daemon/forecast/draw_forecast.h"
#include "daemon/pipeline.h"

namespace coilward {

// runs: of all zones, any order; those without a level, and those beside others, are left out. normals: of
// all zones. Empty when the zone's own normal draw is not learned yet.
std::vector<DrawShare> shares_of(int zone, const std::vector<Run>& runs,
                                 const std::vector<NormalDraw>& normals);

}  // namespace coilward
