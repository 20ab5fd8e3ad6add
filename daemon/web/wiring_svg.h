// The site's wiring as an SVG drawing: controller, boxes, the wire between them with its length, the zones at
// their boxes with what they draw, and a fault where it is. Every mark has a word and a shape of its own
// beside its colour. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/web/page_words.h"

namespace coilward {

// What open findings say of the wire that leads to one box.
struct StretchMark {
  const Finding* finding = nullptr;  // nullptr: nothing
  double probability = 0;
  bool best = false;  // of its finding's places
};

// One for each of Config::boxes. A place that spans several boxes marks every stretch of wire between them.
std::vector<StretchMark> stretch_marks(const std::vector<Finding>& open, const Config& config);

std::string wiring_svg(const SiteView& view, const Config& config);

// Where a current stands on the little scale beside a zone, 0 to 1, of which the normal band is the middle
// third; NaN when there is none to show.
double scale_place(double amps, const NormalDraw& normal);

}  // namespace coilward
