#include "daemon/web/zone_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/history/edges.h"
#include "daemon/web/html.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kGapSteps = 3;                 // without a reading, and the line is broken (own choice)
constexpr double kWide = 1000, kHigh = 300;  // of the drawing's own units; it is stretched to its place

// From values to the drawing.
struct ChartFrame {
  double from = 0, length = 1, top = 1;
  double x(double at) const { return std::clamp((at - from) / length, 0.0, 1.0) * kWide; }
  double y(double amps) const { return kHigh * (1 - std::clamp(amps / top, 0.0, 1.0)); }
  double x(UtcTime time) const { return x(static_cast<double>(to_ms(time))); }
};

// A round number of amperes a little above: the chart's top.
double top_of(double highest) {
  for (double step = 0.05;; step *= 2)
    if (highest * 1.1 <= step * 8) return std::max(0.1, std::ceil(highest * 1.1 / step) * step);
}

// A dot for each run says more than a course of weeks, most of them idle.
bool by_run(const ZoneRange& range) { return range.kind->length > Millis{std::chrono::hours{24}}; }

std::vector<Bucket> course_of(const ChartInput& input, const SiteAccess& site) {
  if (by_run(input.range)) return {};
  const bool master = input.zone.number == kMasterZone;
  const Channel channel{master ? ChannelKind::master_current : ChannelKind::zone_current,
                        static_cast<std::uint8_t>(input.zone.number)};
  const auto edges = even_edges(input.range.from, input.range.until, input.range.every_s);
  const auto pending = site.pending_readings(channel);
  const auto reader = site.open_history();
  if (!edges || !reader) return {};
  auto buckets = reader->buckets(channel, *edges, pending);
  return buckets ? std::move(*buckets) : std::vector<Bucket>();
}

double highest_of(const ChartInput& input, const std::vector<Bucket>& course) {
  double highest = measured(input.zone.normal.hold_high) ? input.zone.normal.hold_high : 0.05;
  for (const Bucket& b : course) highest = std::max(highest, b.values.highest);
  if (course.empty())
    for (const Run& run : input.runs)
      if (measured(run.hold_amps)) highest = std::max(highest, run.hold_amps);
  return highest;
}

std::string band_of(const NormalDraw& normal, const ChartFrame& frame) {
  if (!measured(normal.hold_low) || !measured(normal.hold_high)) return {};
  const double top = frame.y(normal.hold_high), bottom = frame.y(normal.hold_low);
  return fmt::format("<rect class=\"band\" x=\"0\" y=\"{:.1f}\" width=\"{:.0f}\" height=\"{:.1f}\"/>", top,
                     kWide, std::max(2.0, bottom - top));
}

// Each step as a bar from its lowest to its highest, and a line through the means, broken where nothing came.
std::string course_paths(const std::vector<Bucket>& course, const ChartFrame& frame) {
  std::string bars, line;
  UtcTime expected = kNever;
  for (const Bucket& b : course) {
    const double x = frame.x(b.start + (b.end - b.start) / 2);
    bars += fmt::format("M{:.1f} {:.1f}V{:.1f}", x, frame.y(b.values.lowest), frame.y(b.values.highest));
    line += fmt::format("{}{:.1f} {:.1f}", b.start <= expected + kGapSteps * (b.end - b.start) ? 'L' : 'M', x,
                        frame.y(b.values.mean()));
    expected = b.end;
  }
  return fmt::format("<path class=\"extent\" d=\"{}\"/><path class=\"mean\" d=\"{}\"/>", bars, line);
}

std::string run_dots(const std::vector<Run>& runs, const ChartFrame& frame) {
  std::string dots;
  for (const Run& run : runs)
    if (measured(run.hold_amps))
      dots += fmt::format("M{:.1f} {:.1f}h0", frame.x(run.start), frame.y(run.hold_amps));
  return fmt::format("<path class=\"dots\" d=\"{}\"/>", dots);
}

std::string mark_lines(const std::vector<ChartMark>& marks, const ChartFrame& frame) {
  std::string out;
  for (const ChartMark& mark : marks)
    out += fmt::format("<path class=\"mark {}\" d=\"M{:.1f} 0V{:.0f}\"><title>{}</title></path>", mark.kind,
                       frame.x(mark.time), kHigh, html(mark.words));
  return out;
}

std::string svg_of(const ChartInput& input, const std::vector<Bucket>& course, const ChartFrame& frame) {
  return fmt::format(
      "<svg class=\"plot\" viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" role=\"img\" "
      "aria-label=\"Recorded current of zone "
      "{}: the table of runs below has the numbers.\">{}{}{}{}</svg>",
      kWide, kHigh, zone_label(input.zone.number), band_of(input.zone.normal, frame),
      course.empty() ? "" : course_paths(course, frame), course.empty() ? run_dots(input.runs, frame) : "",
      mark_lines(input.marks, frame));
}

Json seconds(UtcTime time) { return static_cast<double>(to_ms(time)) / 1000; }

// What the script needs to draw the same, finer.
std::string data_of(const ChartInput& input, const SiteAccess& site, double top) {
  Json marks = Json::array(), runs = Json::array();
  for (const ChartMark& mark : input.marks) marks.push_back({seconds(mark.time), mark.kind, mark.words});
  for (const Run& run : input.runs)
    if (measured(run.hold_amps))
      runs.push_back({seconds(run.start), std::round(run.hold_amps * 1000) / 1000});
  const Json data = {
      {"history",
       fmt::format("/api/v1/zones/{}/history?since={}&until={}&every={}&format=csv", input.zone.number,
                   percent_encoded(format_rfc3339(input.range.from)),
                   percent_encoded(format_rfc3339(input.range.until)), step_text(input.range.every_s))},
      {"from", seconds(input.range.from)},
      {"until", seconds(input.range.until)},
      {"every", input.range.every_s},
      {"timezone", site.config().site.timezone},
      {"low", number_or_null(input.zone.normal.hold_low)},
      {"high", number_or_null(input.zone.normal.hold_high)},
      {"top", top},
      {"marks", marks},
      {"runs", runs}};
  return html(data.dump(-1, ' ', false, Json::error_handler_t::replace));
}

}  // namespace

std::string zone_chart(const ChartInput& input, const SiteAccess& site) {
  const auto course = course_of(input, site);
  const double top = top_of(highest_of(input, course));
  const ChartFrame frame{static_cast<double>(to_ms(input.range.from)),
                         static_cast<double>((input.range.until - input.range.from).count()), top};
  return fmt::format(
      "<figure class=\"course\"><div id=\"chart\" data-chart=\"{}\"><div class=\"upright\" "
      "aria-hidden=\"true\"><span>{:.2f} A</span>"
      "<span>0</span></div>{}<div class=\"level\" "
      "aria-hidden=\"true\"><span>{}</span><span>{}</span></div></div>\n"
      "<figcaption><span class=\"key band\"></span> normal now {}"
      "{}</figcaption><p id=\"readout\" class=\"soft\"></p></figure>\n",
      data_of(input, site, top), top, svg_of(input, course, frame), time_tag(input.range.from, site.config()),
      time_tag(input.range.until, site.config()),
      by_run(input.range) ? "<span class=\"key dot\"></span> a run"
                          : "<span class=\"key mean\"></span> recorded",
      input.marks.empty() ? "" : " <span class=\"key mark\"></span> finding or repair");
}

std::string burst_chart(const Run& run, const NormalDraw& normal) {
  if (run.burst.size() < 3) return {};
  double highest = measured(normal.inrush_high) ? normal.inrush_high : 0.05;
  for (const RunPoint& point : run.burst) highest = std::max(highest, static_cast<double>(point.amps));
  const double last = run.burst.back().ms;
  const ChartFrame frame{0, std::max(1.0, last), top_of(highest)};
  std::string line;
  for (const RunPoint& point : run.burst)
    line += fmt::format("{}{:.1f} {:.1f}", line.empty() ? 'M' : 'L', frame.x(static_cast<double>(point.ms)),
                        frame.y(point.amps));
  const std::string seat =
      measured(run.seat_ms)
          ? fmt::format("<path class=\"mark over\" d=\"M{:.1f} 0V{:.0f}\"/>", frame.x(run.seat_ms), kHigh)
          : "";
  return fmt::format(
      "<figure class=\"course burst\"><div class=\"upright\" aria-hidden=\"true\"><span>{:.2f} "
      "A</span><span>0</span></div>"
      "<svg class=\"plot\" viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" role=\"img\" "
      "aria-label=\"Switch-on: {} at most, {}.\">"
      "{}{}<path class=\"mean\" d=\"{}\"/></svg><div class=\"level\" aria-hidden=\"true\"><span>0 "
      "ms</span><span>{:.0f} ms</span></div></figure>\n",
      frame.top, kWide, kHigh, amps_text(run.inrush_amps),
      measured(run.seat_ms) ? fmt::format("plunger seated after {:.0f} ms", run.seat_ms) : "no seating seen",
      band_of(normal, frame), seat, line, last);
}

}  // namespace coilward
