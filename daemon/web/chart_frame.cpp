#include "daemon/web/chart_frame.h"

#include <fmt/format.h>

#include <cmath>

#include "daemon/pipeline.h"

namespace coilward {

double chart_top(double highest) {
  for (double step = 0.05;; step *= 2)
    if (highest * 1.1 <= step * 8) return std::max(0.1, std::ceil(highest * 1.1 / step) * step);
}

std::string band_rect(double low, double high, const ChartFrame& frame, double from_x, double to_x) {
  if (!measured(low) || !measured(high)) return {};
  const double top = frame.y(high), bottom = frame.y(low);
  return fmt::format("<rect class=\"band\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>",
                     from_x, top, to_x - from_x, std::max(2.0, bottom - top));
}

std::string amps_axis(const ChartFrame& frame) {
  return fmt::format("<div class=\"upright\" aria-hidden=\"true\"><span>{:.2f} A</span><span>{}</span></div>",
                     frame.top, frame.bottom > 0 ? fmt::format("{:.2f} A", frame.bottom) : std::string("0"));
}

}  // namespace coilward
