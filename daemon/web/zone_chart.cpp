#include "daemon/web/zone_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/history/edges.h"
#include "daemon/web/chart_frame.h"
#include "daemon/web/html.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kGapSteps = 3;  // without a reading, and the line is broken (own choice)

// A dot for each run says more than a course of weeks, most of them idle.
bool by_run(const ZoneRange& range) { return range.kind->length > Millis{std::chrono::hours{24}}; }

std::vector<Bucket> course_of(const ChartInput& input, const SiteAccess& site) {
  if (by_run(input.range)) return {};
  const Channel channel = current_channel(input.zone.number);
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
                       frame.x(mark.time), kChartHigh, html(mark.words));
  return out;
}

std::string svg_of(const ChartInput& input, const std::vector<Bucket>& course, const ChartFrame& frame) {
  return fmt::format(
      "<svg class=\"plot\" viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" role=\"img\" "
      "aria-label=\"Recorded current of zone "
      "{}: the table of runs below has the numbers.\">{}{}{}{}</svg>",
      kChartWide, kChartHigh, zone_label(input.zone.number),
      band_rect(input.zone.normal.hold_low, input.zone.normal.hold_high, frame),
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
  const double top = chart_top(highest_of(input, course));
  const ChartFrame frame{static_cast<double>(to_ms(input.range.from)),
                         static_cast<double>((input.range.until - input.range.from).count()), top};
  return fmt::format(
      "<figure class=\"course\"><div id=\"chart\" data-chart=\"{}\">{}{}<div class=\"level\" "
      "aria-hidden=\"true\"><span>{}</span><span>{}</span></div></div>\n"
      "<figcaption><span class=\"key band\"></span> normal now {}"
      "{}</figcaption><p id=\"readout\" class=\"soft\"></p></figure>\n",
      data_of(input, site, top), amps_axis(frame), svg_of(input, course, frame),
      time_tag(input.range.from, site.config()), time_tag(input.range.until, site.config()),
      by_run(input.range) ? "<span class=\"key dot\"></span> a run"
                          : "<span class=\"key mean\"></span> recorded",
      input.marks.empty() ? "" : " <span class=\"key mark\"></span> finding or repair");
}

}  // namespace coilward
