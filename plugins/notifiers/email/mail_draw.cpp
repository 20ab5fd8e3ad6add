#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "plugins/notifiers/email/mail_html.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

constexpr double kWide = 320, kHigh = 72, kRim = 6;  // units of the drawing
constexpr std::size_t kFewestRuns = 3;

struct Draw {
  int zone = 0;
  std::vector<double> amps;
  double low = NAN, high = NAN;
  double top() const {
    const double most = *std::max_element(amps.begin(), amps.end());
    const double top = std::isfinite(high) ? std::max(most, high) : most;
    return top > 0 ? top : 1;
  }
  // Not from zero where that would hide what changed.
  double floor() const {
    const double least = *std::min_element(amps.begin(), amps.end());
    const double bottom = std::isfinite(low) ? std::min(least, low) : least;
    return bottom > top() / 2 ? bottom - std::max((top() - bottom) / 2, top() / 10) : 0;
  }
  double share(double value) const { return std::clamp((value - floor()) / (top() - floor()), 0.0, 1.0); }
  bool banded() const { return std::isfinite(low) && std::isfinite(high); }
  double x(std::size_t run) const {
    return kRim + (kWide - 2 * kRim) * static_cast<double>(run) / static_cast<double>(amps.size() - 1);
  }
  double y(double value) const { return kHigh - kRim - (kHigh - 2 * kRim) * share(value); }
};

double number_in(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_number() ? it->get<double>() : NAN;
}

Draw draw_from(const Json& json) {
  Draw draw;
  if (!json.is_object()) return draw;
  draw.zone = json.contains("zone") && json["zone"].is_number_integer() ? json["zone"].get<int>() : 0;
  draw.low = number_in(json, "low");
  draw.high = number_in(json, "high");
  if (const auto amps = json.find("amps"); amps != json.end() && amps->is_array())
    for (const Json& value : *amps)
      if (value.is_number()) draw.amps.push_back(value.get<double>());
  return draw;
}

std::string blocks(const Draw& draw) {
  static constexpr const char* kBlocks[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  std::string line;
  for (const double amps : draw.amps) line += kBlocks[std::lround(draw.share(amps) * 7)];
  return line;
}

// The line takes the text's colour, so that it shows by day and by night.
std::string svg(const Draw& draw, const std::string& title) {
  std::string points, band;
  for (std::size_t run = 0; run < draw.amps.size(); ++run)
    points += fmt::format("{}{:.1f},{:.1f}", run ? " " : "", draw.x(run), draw.y(draw.amps[run]));
  if (draw.banded())
    band = fmt::format(
        "<rect x=\"0\" y=\"{:.1f}\" width=\"{:g}\" height=\"{:.1f}\" fill=\"#4c9a5f\" "
        "fill-opacity=\"0.35\"/>",
        draw.y(draw.high), kWide, std::max(1.0, draw.y(draw.low) - draw.y(draw.high)));
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" width=\"{0:g}\" "
      "height=\"{1:g}\" "
      "role=\"img\" aria-label=\"{2}\">\n{3}<polyline points=\"{4}\" fill=\"none\" stroke=\"currentColor\" "
      "stroke-width=\"2\"/><circle cx=\"{5:.1f}\" cy=\"{6:.1f}\" r=\"4\" fill=\"#d0313d\"/></svg>\n",
      kWide, kHigh, html_text(title), band, points, draw.x(draw.amps.size() - 1), draw.y(draw.amps.back()));
}

}  // namespace

std::string draw_part(const Json& json) {
  const Draw draw = draw_from(json);
  if (draw.amps.size() < kFewestRuns) return {};
  const std::string zone =
      draw.zone == 0 ? std::string("The master valve") : fmt::format("Zone {}", draw.zone);
  const std::string title = fmt::format("{}, its last {} runs: {:.3f} A first, {:.3f} A last", zone,
                                        draw.amps.size(), draw.amps.front(), draw.amps.back());
  const std::string normal =
      draw.banded() ? fmt::format("; normal is {:.3f} to {:.3f} A", draw.low, draw.high) : "";
  return svg(draw, title) + fmt::format("<p>{}<br>\n{}{}.</p>\n", blocks(draw), title, normal);
}

}  // namespace coilward_plugins
