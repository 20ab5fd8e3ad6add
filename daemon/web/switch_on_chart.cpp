#include "daemon/web/switch_on_chart.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/web/chart_frame.h"
#include "daemon/web/html.h"

namespace coilward {
namespace {

constexpr double kNothingDrawn = 0.03;  // A; less than any valve (own choice)
constexpr std::size_t kEarlierBursts = 5, kFewestBurstPoints = 3;
constexpr double kSeatsShown = 4;  // times the seating: what follows is flat
constexpr double kUsualSeatMs =
    60;  // where no seating was seen: an inrush lasts some cycles (common practice)

std::vector<Run> bursts_of(const std::vector<Run>& runs) {
  std::vector<Run> found;
  for (const Run& run : runs)
    if (run.inrush_amps > kNothingDrawn && run.burst.size() >= kFewestBurstPoints &&
        found.size() <= kEarlierBursts)
      found.push_back(run);
  return found;
}

// Bursts are laid from their first reading: what lies between a command and the current is the controller's.
double burst_begin(const Run& run) { return run.burst.front().ms; }

double highest_reading(const Run& run) {
  double highest = 0;
  for (const RunPoint& point : run.burst) highest = std::max(highest, static_cast<double>(point.amps));
  return highest;
}

ChartFrame burst_frame(const std::vector<Run>& runs, const NormalDraw& normal) {
  double highest = measured(normal.inrush_high) ? normal.inrush_high : 0.05, last = 1, seat = kUsualSeatMs;
  for (const Run& run : runs) {
    highest = std::max(highest, highest_reading(run));
    last = std::max(last, run.burst.back().ms - burst_begin(run));
    if (measured(run.seat_ms)) seat = std::max(seat, run.seat_ms - burst_begin(run));
  }
  return {0, std::min(last, kSeatsShown * seat), chart_top(highest)};
}

std::string burst_line(const Run& run, std::string_view kind, const ChartFrame& frame) {
  std::string line;
  for (const RunPoint& point : run.burst)
    if (point.ms - burst_begin(run) <= frame.length)
      line += fmt::format("{}{:.1f} {:.1f}", line.empty() ? 'M' : 'L', frame.x(point.ms - burst_begin(run)),
                          frame.y(point.amps));
  return fmt::format("<path class=\"{}\" d=\"{}\"/>", kind, line);
}

// The learned peak as long as an inrush lasts, the learned holding level after it.
std::string burst_learned(const Run& run, const NormalDraw& normal, const ChartFrame& frame) {
  const double seat = frame.x(measured(run.seat_ms) ? run.seat_ms - burst_begin(run) : kUsualSeatMs);
  return band_rect(normal.inrush_low, normal.inrush_high, frame, 0, seat) +
         band_rect(normal.hold_low, normal.hold_high, frame, seat);
}

std::string normal_range(double low, double high) {
  return measured(low) && measured(high) ? fmt::format(" (normal {:.3f} to {:.3f} A)", low, high) : "";
}

std::string burst_values(const Run& run, const NormalDraw& normal) {
  return fmt::format(
      "<dl "
      "class=\"facts\"><div><dt>Peak</dt><dd>{}</dd></div><div><dt>Inrush</dt><dd>{}{}</dd></"
      "div><div><dt>Plunger seated</dt><dd>{}</dd></div>"
      "<div><dt>Holding</dt><dd>{}{}</dd></div></dl>\n",
      amps_text(highest_reading(run)), amps_text(run.inrush_amps),
      normal_range(normal.inrush_low, normal.inrush_high),
      measured(run.seat_ms) ? fmt::format("after {:.0f} ms", run.seat_ms) : "not seen",
      amps_text(run.hold_amps), normal_range(normal.hold_low, normal.hold_high));
}

}  // namespace

std::string switch_on_part(const std::vector<Run>& runs, const NormalDraw& normal, const Config& config) {
  const std::vector<Run> found = bursts_of(runs);
  if (found.empty()) return {};
  const Run& last = found.front();
  const ChartFrame frame = burst_frame(found, normal);
  std::string lines = burst_learned(last, normal, frame);
  for (std::size_t i = found.size(); i-- > 1;) lines += burst_line(found[i], "earlier", frame);
  if (measured(last.seat_ms))
    lines += fmt::format("<path class=\"mark over\" d=\"M{:.1f} 0V{:.0f}\"/>",
                         frame.x(last.seat_ms - burst_begin(last)), kChartHigh);
  return fmt::format(
      "<section><h2>Switch-on</h2>\n<p>{}</p>\n<figure class=\"course burst\">{}<svg class=\"plot\" "
      "viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" role=\"img\" aria-label=\"Switch-on: the "
      "values are named below.\">{}{}</svg><div class=\"level\" aria-hidden=\"true\"><span>0 "
      "ms</span><span>{:.0f} ms</span></div></figure>\n<p class=\"soft\"><span class=\"key mean\"></span> "
      "this "
      "one{} <span class=\"key band\"></span> learned</p>\n{}</section>\n",
      time_tag(last.start, config), amps_axis(frame), kChartWide, kChartHigh, lines,
      burst_line(last, "mean", frame), frame.length,
      found.size() > 1 ? fmt::format(" <span class=\"key earlier\"></span> {} before it", found.size() - 1)
                       : "",
      burst_values(last, normal));
}

}  // namespace coilward
