#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/site_time.h"
#include "daemon/web/chart_frame.h"
#include "daemon/web/html.h"
#include "daemon/web/visit_drawings.h"

namespace coilward {
namespace {

constexpr double kBarsWidth = 336, kBarsHigh = 132, kBarsTop = 18, kBarsFloor = 112, kHatch = 3,
                 kTextClear = 26;

double y_of(double amps, double top) {
  return kBarsFloor - std::clamp(amps / top, 0.0, 1.0) * (kBarsFloor - kBarsTop);
}

// Two edges and thin lines between them: seen in print without any shade.
std::string hatched_band(const NormalDraw& normal, double top) {
  if (!measured(normal.hold_low)) return {};
  const double high = y_of(normal.hold_high, top), low = y_of(normal.hold_low, top);
  std::string lines;
  for (double x = kHatch; x < kBarsWidth; x += kHatch)
    lines += fmt::format("M{:.0f} {:.1f}V{:.1f}", x, high, low);
  return fmt::format(
      "<path class=\"hatch\" d=\"{0}\"/><path class=\"edge\" d=\"M0 {1:.1f}H{3:.0f}M0 {2:.1f}H{3:.0f}\"/>",
      lines, high, low, kBarsWidth);
}

bool outside(const Run& run, const NormalDraw& normal) {
  return measured(normal.hold_low) && measured(run.hold_amps) &&
         (run.hold_amps < normal.hold_low || run.hold_amps > normal.hold_high);
}

// Day and month at the site: "4 May" of "Mon 4 May 2026 00:12 MDT".
std::string day_of(UtcTime time, const Config& config) {
  const std::string text = site_date_time(time, config.site.timezone);
  return text.substr(4, text.find(' ', text.find(' ', 4) + 1) - 4);
}

std::string one_bar(const Run& run, double x, double width, double top, const VisitSheet& sheet,
                    const Config& config) {
  const double y = measured(run.hold_amps) ? y_of(run.hold_amps, top) : kBarsFloor;
  const double band = measured(sheet.normal.hold_high) ? y_of(sheet.normal.hold_high, top) : kBarsFloor;
  const double middle = x + width / 2, words = y < band + kTextClear ? std::min(y, band) : y;
  return fmt::format(
      "<rect class=\"bar{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>"
      "<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"middle\">{}</text>"
      "<text class=\"soft\" x=\"{:.1f}\" y=\"{:.0f}\" text-anchor=\"middle\">{}</text>",
      outside(run, sheet.normal) ? " off" : "", x + width * 0.2, y, width * 0.6,
      std::max(1.0, kBarsFloor - y), middle, words - 4,
      measured(run.hold_amps) ? fmt::format("{:.3f}", std::max(0.0, run.hold_amps)) : "–", middle,
      kBarsHigh - 4, html(day_of(run.start, config)));
}

}  // namespace

std::string run_bars(const VisitSheet& sheet, const Config& config) {
  if (sheet.runs.empty()) return {};
  double highest = measured(sheet.normal.hold_high) ? sheet.normal.hold_high : 0.05;
  for (const Run& run : sheet.runs)
    if (measured(run.hold_amps)) highest = std::max(highest, run.hold_amps);
  const double top = chart_top(highest), width = kBarsWidth / static_cast<double>(sheet.runs.size());
  std::string bars;
  double x = 0;
  for (std::size_t i = sheet.runs.size(); i-- > 0; x += width)
    bars += one_bar(sheet.runs[i], x, width, top, sheet, config);
  bars += hatched_band(sheet.normal, top);
  return fmt::format(
      "<figure class=\"bars\"><svg width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "role=\"img\" "
      "aria-label=\"What the latest runs of zone {2} drew, in amperes\">{3}<path class=\"wire\" d=\"M0 "
      "{4:.0f}H{0:.0f}\"/></svg><figcaption>Amperes in the latest runs of zone {2}, the last one on the "
      "right. "
      "Hatched: normal, {5}. Black: not normal.</figcaption></figure>\n",
      kBarsWidth, kBarsHigh, zone_label(sheet.zone), bars, kBarsFloor, band_text(sheet.normal));
}

}  // namespace coilward
