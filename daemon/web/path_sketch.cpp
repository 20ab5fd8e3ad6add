#include <fmt/format.h>

#include <algorithm>

#include "daemon/web/html.h"
#include "daemon/web/visit_drawings.h"

namespace coilward {
namespace {

// Units are CSS pixels of the drawing: three stops fit a phone of 360, two drawings a sheet of paper.
constexpr int kStopsInRow = 3;
constexpr double kSketchWidth = 336, kSketchHigh = 108, kFirstStop = 28, kStopPitch = 112, kHalfBox = 20;
constexpr double kZoneLine = 38, kCommonLine = 70, kBoxTop = 22, kBoxHigh = 64;
constexpr std::size_t kStopName = 14, kOthersName = 20;

class PathSketch {
 public:
  PathSketch(const VisitSheet& sheet, const Config& config)
      : sheet_(sheet), config_(config), path_(sheet.path), marked_(marked_places(sheet.location)) {}

  std::string draw() {
    std::string out;
    for (int first = 0; first <= path_.last(); first += kStopsInRow) out += row(first);
    return fmt::format("<div class=\"sketch\">{}</div>\n", out);
  }

 private:
  template <class... T>
  void put(fmt::format_string<T...> format, T&&... values) {
    fmt::format_to(std::back_inserter(row_), format, std::forward<T>(values)...);
  }

  static double x_of(int stop) { return kFirstStop + kStopPitch * (stop % kStopsInRow); }

  std::string row(int first) {
    row_.clear();
    const int last = std::min(first + kStopsInRow - 1, path_.last());
    if (first > 0) lines(0, kFirstStop - kHalfBox, "");
    for (int i = first; i <= last; ++i) stretch_beyond(i, last);
    for (int i = first; i <= last; ++i) stop(i);
    if (last == path_.last()) coil(x_of(last) + kHalfBox + 32);
    for (std::size_t i = 0; i < marked_.size(); ++i) mark(i, first, last);
    return fmt::format(
        "<svg width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" role=\"img\" "
        "aria-label=\"The wire from {2} to {3}. The table says the same.\">{4}</svg>\n",
        kSketchWidth, kSketchHigh, html(stop_name(first)), html(stop_name(last)), row_);
  }

  void lines(double from, double to, const char* kind) {
    for (const double y : {kZoneLine, kCommonLine})
      put("<path class=\"wire{}\" d=\"M{:.0f} {:.0f}H{:.0f}\"/>", kind, from, y, to);
  }

  // The wire to the next stop, or half of it at the end of a row; beyond the last stop, the valve's leads.
  void stretch_beyond(int i, int last) {
    const double from = x_of(i) + kHalfBox;
    if (i == path_.last()) return lines(from, from + 32, "");
    const double to = i == last ? kSketchWidth : x_of(i + 1) - kHalfBox;
    for (const Conductor conductor : {Conductor::zone, Conductor::common})
      put("<path class=\"wire{}\" d=\"M{:.0f} {:.0f}H{:.0f}\"/>", suspected(i, conductor) ? " doubt" : "",
          from, line_of(conductor), to);
    put("<text x=\"{:.0f}\" y=\"{:.0f}\" text-anchor=\"middle\">{}</text>", (from + to) / 2,
        (kZoneLine + kCommonLine) / 2 + 5, length_text(path_.stop(i + 1).metres, config_));
  }

  void stop(int i) {
    const double x = x_of(i);
    put("<rect class=\"{}\" x=\"{:.0f}\" y=\"{:.0f}\" width=\"{:.0f}\" height=\"{:.0f}\" rx=\"{}\"/>",
        i == 0 ? "controller" : "box", x - kHalfBox, kBoxTop, 2 * kHalfBox, kBoxHigh, i == 0 ? 2 : 8);
    lines(x - (i == 0 ? 8 : kHalfBox), x + kHalfBox, "");
    for (const double y : {kZoneLine, kCommonLine})
      put("<circle class=\"{}\" cx=\"{:.0f}\" cy=\"{:.0f}\" r=\"4\"/>", i == 0 ? "terminal" : "splice", x, y);
    put("<text class=\"head\" x=\"{:.0f}\" y=\"15\"{}>{}</text>", i == 0 ? x - kHalfBox : x,
        i == 0 ? "" : " text-anchor=\"middle\"", html(short_text(stop_name(i), kStopName)));
    const std::string others = others_at(i);
    if (!others.empty())
      put("<text class=\"soft\" x=\"{:.0f}\" y=\"{:.0f}\" text-anchor=\"middle\">{}</text>", x,
          kSketchHigh - 5, others);
  }

  void coil(double x) {
    put("<path class=\"wire\" d=\"M{0:.0f} {1:.0f}V{2:.0f}\"/><rect class=\"coil\" x=\"{3:.0f}\" "
        "y=\"{4:.0f}\" "
        "width=\"16\" height=\"20\"/>",
        x, kZoneLine, kCommonLine, x - 8, (kZoneLine + kCommonLine) / 2 - 10);
    put("<text x=\"{:.0f}\" y=\"{:.0f}\" text-anchor=\"middle\">{}</text>", x, kCommonLine + 20,
        path_.zone == kMasterZone ? "master" : fmt::format("zone {}", path_.zone));
  }

  static double line_of(Conductor conductor) {
    return conductor == Conductor::zone ? kZoneLine : kCommonLine;
  }

  bool on_stretch(const Place& place, int i) const {
    const int from = path_.stop_named(place.from), to = path_.stop_named(place.to);
    return place.kind == PlaceKind::segment && from >= 0 && i >= std::min(from, to) && i < std::max(from, to);
  }

  bool suspected(int i, Conductor conductor) const {
    return std::ranges::any_of(marked_,
                               [&](const Place& p) { return p.conductor == conductor && on_stretch(p, i); });
  }

  // Where the middle of a place is in a row; its stop must be within it.
  void mark(std::size_t index, int first, int last) {
    const Place& place = marked_[index];
    const std::string& name = place.kind == PlaceKind::segment      ? place.from
                              : place.kind == PlaceKind::controller ? path_.stop(0).name
                                                                    : place.at;
    const int at = path_.stop_named(name);
    if (at < first || at > last) return;
    if (place.kind == PlaceKind::segment)
      return number(index, x_of(at) + kHalfBox + (at == last ? 20 : (kStopPitch - 2 * kHalfBox) / 2),
                    line_of(place.conductor));
    if (place.kind == PlaceKind::coil)
      return number(index, x_of(at) + kHalfBox + 32, (kZoneLine + kCommonLine) / 2);
    if (place.kind == PlaceKind::controller) return number(index, x_of(at), (kZoneLine + kCommonLine) / 2);
    number(index, x_of(at), line_of(place.conductor));
  }

  void number(std::size_t index, double x, double y) {
    put("<g class=\"{}\"><circle cx=\"{:.0f}\" cy=\"{:.0f}\" r=\"10\"/><text x=\"{:.0f}\" y=\"{:.0f}\" "
        "text-anchor=\"middle\">{}</text></g>",
        index == 0 ? "number first" : "number", x, y, x, y + 4.5, index + 1);
  }

  std::string stop_name(int i) const {
    const Stop& stop = path_.stop(i);
    if (i == 0) return "Controller";
    return stop.box < 0 ? "Valve" : "Box " + stop.name;
  }

  // Zones beside this one in the box.
  std::string others_at(int i) const {
    const int box = path_.stop(i).box;
    if (box < 0) return {};
    std::string list;
    for (const ZoneConfig& zone : config_.zones)
      if (zone.box == box && zone.number != path_.zone)
        list += (list.empty() ? "" : ", ") + zone_label(zone.number);
    return list.empty() ? list : html(short_text("also " + list, kOthersName));
  }

  const VisitSheet& sheet_;
  const Config& config_;
  const WirePath& path_;
  const std::vector<Place> marked_;
  std::string row_;
};

}  // namespace

std::vector<Place> marked_places(const Location& location) {
  std::vector<Place> marked;
  for (const Place& place : location.places)
    if (marked.size() < kMarkedPlaces && (marked.empty() || place.probability >= kWorthMarkingInSketch))
      marked.push_back(place);
  return marked;
}

std::string path_sketch(const VisitSheet& sheet, const Config& config) {
  return sheet.path.stops.size() < 2 ? std::string() : PathSketch(sheet, config).draw();
}

}  // namespace coilward
