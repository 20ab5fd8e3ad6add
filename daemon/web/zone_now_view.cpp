#include "daemon/web/zone_now_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/web/html.h"

namespace coilward {
namespace {

constexpr double kLeastTop = 0.1;     // A
constexpr double kAboveNormal = 1.4;  // of the band, so that "normal" is not at the edge
constexpr double kTenths = 10;

double top_of_strip(const ZoneNow& now, const std::deque<StripPoint>& strip) {
  double top = measured(now.normal.hold_high) ? kAboveNormal * now.normal.hold_high : kLeastTop;
  for (const StripPoint& point : strip) top = std::max(top, 1.05 * point.amps);
  return std::ceil(top * 20) / 20;  // steps of 0.05 A, so that it does not move with every reading
}

double seconds_of(Millis span) { return std::round(static_cast<double>(span.count()) / 100) / kTenths; }

}  // namespace

StripView strip_view(const ZoneNow& now, const std::deque<StripPoint>& strip, UtcTime present) {
  StripView view;
  view.top = top_of_strip(now, strip);
  const auto y = [&](double amps) { return kStripHigh * (1 - std::clamp(amps / view.top, 0.0, 1.0)); };
  UtcTime expected = kNever;
  for (const StripPoint& point : strip) {
    const double before =
        static_cast<double>((present - point.time).count()) / static_cast<double>(kStrip.count());
    view.line += fmt::format("{}{:.1f} {:.1f}", point.time <= expected ? 'L' : 'M',
                             kStripWide * (1 - std::clamp(before, 0.0, 1.0)), y(point.amps));
    expected = point.time + now.fresh_for;
  }
  if (!measured(now.normal.hold_low) || !measured(now.normal.hold_high)) return view;
  view.band_y = y(now.normal.hold_high);
  view.band_high = std::max(4.0, y(now.normal.hold_low) - view.band_y);
  return view;
}

Json zone_now_to_json(const ZoneNow& now, const StripView& strip) {
  const bool heard = now.time != kNever;
  return {{"zone", now.zone},
          {"time", time_or_null(now.time)},
          {"amps", number_or_null(now.amps)},
          {"normal_amps", number_or_null(now.normal.hold_amps)},
          {"low", number_or_null(now.normal.hold_low)},
          {"high", number_or_null(now.normal.hold_high)},
          {"share", measured(now.share) ? Json(std::round(now.share * 1000) / 1000) : Json(nullptr)},
          {"level", level_name(now.level)},
          {"on", now.on},
          {"age_s", heard ? Json(seconds_of(now.age)) : Json(nullptr)},
          {"fresh_s", seconds_of(now.fresh_for)},
          {"stale", now.stale},
          {"words",
           {{"figure", figure_text(now)},
            {"amps", amps_text(now.amps)},
            {"level", level_words(now.level)},
            {"icon", level_icon(now.level)},
            {"on", on_words(now)},
            {"test", now.test}}},
          {"strip",
           {{"top", fmt::format("{:.2f} A", strip.top)},
            {"line", strip.line},
            {"y", std::round(strip.band_y * kTenths) / kTenths},
            {"high", std::round(strip.band_high * kTenths) / kTenths}}}};
}

}  // namespace coilward
