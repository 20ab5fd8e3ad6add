// Where the parts of a site's wiring stand in its drawing: a way down the page, as a phone is held. The
// controller is on top; below each box come first the branches that leave it, each a lane further to the
// right and whole, and then the longest way on in the box's own lane. So each stretch of wire is a line of
// its own, whatever the tree.
//
// Lengths are CSS pixels of the drawing. Thread: any.
#pragma once

#include <vector>

#include "daemon/config/config.h"

namespace coilward {

inline constexpr double kLanePitch = 34;   // from lane to lane
inline constexpr double kBoxWidth = 30;    // of a box's bar
inline constexpr double kBoxHead = 34;     // the row with its name
inline constexpr double kStretchRow = 54;  // between two boxes: the wire and its length

// One thing at a box, in the order of the drawing.
struct PlacedRow {
  std::size_t item = 0;  // position in what was passed in
  double y = 0;
  double height = 0;
};

struct PlacedBox {
  int box = -1;  // position in Config::boxes; -1: the controller
  int lane = 0;
  double y = 0, height = 0;
  std::vector<PlacedRow> rows;
};

// The wire to a box from the one before it: down at from_x, across at turn_y, down to the box at x.
struct PlacedStretch {
  int box = 0;  // that it leads to
  double from_x = 0, from_y = 0;
  double turn_y = 0;
  double x = 0, y = 0;
};

struct WiringLayout {
  std::vector<PlacedBox> boxes;  // the controller first
  std::vector<PlacedStretch> stretches;
  int lanes = 1;
  double height = 0;
};

// What stands at a box: a zone, as a rule.
struct WiringItem {
  int box = -1;  // -1: at the controller
  double height = 0;
};

double lane_x(int lane);
WiringLayout lay_out_wiring(const Config& config, const std::vector<WiringItem>& items);

}  // namespace coilward
