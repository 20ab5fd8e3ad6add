// What the drawings of current share: from values to places in the drawing, its round top, the band of what
// is normal. The folder's own header. Thread: any.
#pragma once

#include <algorithm>
#include <string>

#include "daemon/base/time.h"

namespace coilward {

// Of a drawing's own units; it is stretched to its place.
inline constexpr double kChartWide = 1000, kChartHigh = 300;

struct ChartFrame {
  double from = 0, length = 1, top = 1, bottom = 0;  // ms, ms, A, A
  double x(double at) const { return std::clamp((at - from) / length, 0.0, 1.0) * kChartWide; }
  double y(double amps) const {
    return kChartHigh * (1 - std::clamp((amps - bottom) / (top - bottom), 0.0, 1.0));
  }
  double x(UtcTime time) const { return x(static_cast<double>(to_ms(time))); }
};

// A round number of amperes a little above: the chart's top.
double chart_top(double highest);
// <rect class="band">, from x to x of the drawing; empty when nothing was learned.
std::string band_rect(double low, double high, const ChartFrame& frame, double from_x = 0,
                      double to_x = kChartWide);
// Upper and lower edge beside a drawing.
std::string amps_axis(const ChartFrame& frame);

}  // namespace coilward
