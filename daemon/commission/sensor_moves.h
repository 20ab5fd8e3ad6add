// Which sensor moved when somebody switched a zone on, and which one should have. Plain code, no clock.
// Thread: any.
#pragma once

#include <vector>

#include "daemon/pipeline.h"

namespace coilward {

// What the daemon last heard of a zone's sensor.
struct LiveZone {
  int number = 0;
  double amps = kNotMeasured;
  UtcTime time = kNever;
  double refused = kNotMeasured;  // a value that cannot be, as amps, if it gave one
};
using LiveZones = std::vector<LiveZone>;

struct Moved {
  int number = 0;
  double amps = 0;
  bool refused = false;  // amps is a value that was refused as impossible
};

// Those that rose since `before`, the largest first. A rise that only a wrong unit explains counts when
// nothing rises plainly.
std::vector<Moved> moved_since(const LiveZones& before, const LiveZones& now);
// Still above what it was before it was switched on.
bool still_up(const LiveZones& before, const LiveZones& now, int number);

enum class MoveVerdict {
  nothing,
  own,       // its own sensor, alone
  together,  // its own, and others with it
  other,     // another sensor, alone: swapped
  others,    // several others
};
MoveVerdict judge_moves(const std::vector<Moved>& moved, int commanded);

}  // namespace coilward
