#include "daemon/alerts/sparkline.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

constexpr double kWide = 240, kHigh = 56, kEdge = 5;

double top_of(const AlertDraw& draw) {
  double top = measured(draw.high) ? draw.high : 0;
  for (double amps : draw.amps) top = std::max(top, amps);
  return top > 0 ? top : 1;
}

double x_of(std::size_t index, std::size_t count) {
  return count < 2 ? kWide / 2 : kEdge + (kWide - 2 * kEdge) * static_cast<double>(index) / double(count - 1);
}

double y_of(double amps, double top) {
  return kHigh - kEdge - (kHigh - 2 * kEdge) * std::clamp(amps / top, 0.0, 1.0);
}

std::string escaped(const std::string& text) {
  std::string out;
  for (char c : text) out += c == '<' ? "&lt;" : c == '&' ? "&amp;" : c == '>' ? "&gt;" : std::string(1, c);
  return out;
}

}  // namespace

std::string sparkline_text(const AlertDraw& draw) {
  static constexpr const char* kBlocks[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  const double top = top_of(draw);
  std::string line;
  for (double amps : draw.amps)
    line += kBlocks[static_cast<int>(std::lround(std::clamp(amps / top, 0.0, 1.0) * 7))];
  return line;
}

std::string sparkline_svg(const AlertDraw& draw, const std::string& title) {
  const double top = top_of(draw);
  std::string points;
  for (std::size_t i = 0; i < draw.amps.size(); ++i)
    points +=
        fmt::format("{}{:.1f},{:.1f}", i ? " " : "", x_of(i, draw.amps.size()), y_of(draw.amps[i], top));
  std::string band;
  if (measured(draw.low) && measured(draw.high))
    band =
        fmt::format("<rect x=\"0\" y=\"{0:.1f}\" width=\"{1:g}\" height=\"{2:.1f}\" fill=\"#cfe8d5\"/>",
                    y_of(draw.high, top), kWide, std::max(1.0, y_of(draw.low, top) - y_of(draw.high, top)));
  const double last = draw.amps.empty() ? 0 : draw.amps.back();
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" width=\"{0:g}\" "
      "height=\"{1:g}\" "
      "role=\"img\"><title>{2}</title><rect width=\"{0:g}\" height=\"{1:g}\" fill=\"#ffffff\"/>{3}<polyline "
      "points=\"{4}\" fill=\"none\" stroke=\"#20435c\" stroke-width=\"2\"/><circle cx=\"{5:.1f}\" "
      "cy=\"{6:.1f}\" r=\"3.5\" fill=\"#b3261e\"/></svg>",
      kWide, kHigh, escaped(title), band, points,
      x_of(draw.amps.size() - (draw.amps.empty() ? 0 : 1), draw.amps.size()), y_of(last, top));
}

}  // namespace coilward
