// The draw of a zone, run by run, small enough to stand in a line of text: as characters and as a drawing.
// Thread: any.
#pragma once

#include <string>

#include "daemon/pipeline.h"

namespace coilward {

inline constexpr std::size_t kFewestRuns = 3;  // fewer show nothing
inline constexpr std::size_t kMostDrawn = 24;  // about a month of a zone that runs daily (own choice)

// One character a run, from U+2581 (nothing) to U+2588 (the highest, or the top of what is normal).
std::string sparkline_text(const AlertDraw& draw);
// A drawing of its own (SVG 1.1), 240 by 56, with the normal band; it says in words what it shows.
std::string sparkline_svg(const AlertDraw& draw, const std::string& title);

}  // namespace coilward
