// The drawings of a visit sheet: black on white, readable in print without colours. Texts in them are
// escaped. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/web/visit_sheet.h"

namespace coilward {

// Of a place to be marked in the sketch, and the least likely one that is.
inline constexpr std::size_t kMarkedPlaces = 6;
inline constexpr double kWorthMarkingInSketch = 0.03;
// The places that the sketch numbers and the table lists first, most probable first.
std::vector<Place> marked_places(const Location& location);

// The way from the controller to the valve: both wires, the boxes, the splices, and the places that may be at
// fault by number. Several drawings beside or below one another, each of a phone's width. Empty: no way is
// known.
std::string path_sketch(const VisitSheet& sheet, const Config& config);

// What the latest runs drew, as bars against what is normal. Empty: no run.
std::string run_bars(const VisitSheet& sheet, const Config& config);

}  // namespace coilward
