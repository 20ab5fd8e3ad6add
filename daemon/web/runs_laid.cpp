#include "daemon/web/runs_laid.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/history/edges.h"
#include "daemon/web/chart_frame.h"
#include "daemon/web/html.h"
#include "daemon/web/zone_range.h"

namespace coilward {
namespace {

constexpr double kLaidPoints = 90;                      // of one run: a phone's width has no room for more
constexpr double kLaidStep = 0.05;                      // A, of the scale's ends
constexpr double kLaidGapSteps = 3;                     // without a reading, and the line is broken
constexpr Millis kLongestLaid = std::chrono::hours{4};  // of a run; the rest of a longer one is left out

Millis laid_length(const Run& run) { return std::min(kLongestLaid, run.end - run.start); }

struct Laid {
  const Run& run;
  std::vector<Bucket> course;
};

std::vector<Laid> read_runs(const std::vector<Run>& runs, std::size_t count, Channel channel, double step_s,
                            const SiteAccess& site) {
  std::vector<Laid> laid;
  const auto reader = site.open_history();
  const auto pending = site.pending_readings(channel);
  for (std::size_t i = 0; reader && i < std::min(count, runs.size()); ++i) {
    const auto edges = even_edges(runs[i].start, runs[i].start + laid_length(runs[i]), step_s);
    auto course =
        edges ? reader->buckets(channel, *edges, pending) : Result<std::vector<Bucket>>(edges.error());
    if (course && !course->empty()) laid.push_back({runs[i], std::move(*course)});
  }
  return laid;
}

std::string laid_line(const Laid& laid, std::string_view kind, const ChartFrame& frame) {
  std::string line;
  UtcTime expected = kNever;
  for (const Bucket& b : laid.course) {
    const Millis step = b.end - b.start;
    const Millis at = b.start - laid.run.start + step / 2;
    line += fmt::format("{}{:.1f} {:.1f}", b.start <= expected ? 'L' : 'M',
                        frame.x(static_cast<double>(at.count())), frame.y(b.values.mean()));
    expected = b.end + Millis{std::llround(kLaidGapSteps * static_cast<double>(step.count()))};
  }
  return fmt::format("<path class=\"{}\" d=\"{}\"/>", kind, line);
}

std::string laid_choices(int count, const std::string& path) {
  std::string out = "<nav class=\"ranges\" aria-label=\"How many runs are laid over one another\">";
  for (const int choice : kLaidChoices)
    out += fmt::format("<a href=\"{}&amp;lay={}#laid\"{}>{} runs</a>", path, choice,
                       choice == count ? " aria-current=\"true\"" : "", choice);
  return out + "</nav>\n";
}

// Of runs that all draw, the part of the scale where they differ; a dead one is held against zero.
double laid_bottom(const std::vector<Laid>& laid, const NormalDraw& normal, double top) {
  double lowest = measured(normal.hold_low) ? normal.hold_low : top;
  for (const Laid& one : laid)
    lowest = std::min(lowest, measured(one.run.hold_amps) ? one.run.hold_amps : 0.0);
  return lowest > top / 2 ? std::floor(0.98 * lowest / kLaidStep) * kLaidStep : 0;
}

double laid_highest(const std::vector<Laid>& laid, const NormalDraw& normal) {
  double highest = measured(normal.hold_high) ? normal.hold_high : 0.05;
  for (const Laid& one : laid)
    for (const Bucket& b : one.course) highest = std::max(highest, b.values.mean());
  return highest;
}

std::string laid_caption(const std::vector<Laid>& laid, const SiteAccess& site) {
  std::string out = fmt::format(
      "<figcaption><span class=\"key mean\"></span> {} at {} <span class=\"key earlier\"></span> ",
      short_time_tag(laid[0].run.start, site.now(), site.config()), amps_text(laid[0].run.hold_amps));
  for (std::size_t i = 1; i < laid.size(); ++i)
    out += fmt::format("{}{} at {}", i == 1 ? "" : ", ",
                       short_time_tag(laid[i].run.start, site.now(), site.config()),
                       amps_text(laid[i].run.hold_amps));
  return out + " <span class=\"key band\"></span> normal now</figcaption>";
}

}  // namespace

std::string runs_laid_part(const std::vector<Run>& runs, int count, const ZoneState& zone,
                           const std::string& path, const SiteAccess& site) {
  Millis longest{1000};
  for (std::size_t i = 0; i < std::min<std::size_t>(static_cast<std::size_t>(count), runs.size()); ++i)
    longest = std::max(longest, laid_length(runs[i]));
  const Channel channel = current_channel(zone.number);
  const double step_s = std::max(1.0, std::ceil(static_cast<double>(longest.count()) / 1000 / kLaidPoints));
  const auto laid = read_runs(runs, static_cast<std::size_t>(count), channel, step_s, site);
  if (laid.size() < 2) return {};
  const double top = std::ceil(1.02 * laid_highest(laid, zone.normal) / kLaidStep) * kLaidStep;
  const ChartFrame frame{0, static_cast<double>(longest.count()), top, laid_bottom(laid, zone.normal, top)};
  std::string lines = band_rect(zone.normal.hold_low, zone.normal.hold_high, frame);
  for (std::size_t i = laid.size(); i-- > 1;) lines += laid_line(laid[i], "earlier", frame);
  return fmt::format(
      "<section id=\"laid\"><h2>Runs laid over one another</h2>\n{}<figure class=\"course\"><div "
      "class=\"laid\">{}<svg class=\"plot\" viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" "
      "role=\"img\" aria-label=\"{} runs from their switch-on: what each drew stands below.\">{}{}</svg><div "
      "class=\"level\" aria-hidden=\"true\"><span>switch-on</span><span>{}</span></div></div>\n{}</figure>"
      "</section>\n",
      laid_choices(count, path), amps_axis(frame), kChartWide, kChartHigh, laid.size(), lines,
      laid_line(laid[0], "mean", frame), span_text(longest), laid_caption(laid, site));
}

}  // namespace coilward
