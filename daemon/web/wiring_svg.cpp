#include "daemon/web/wiring_svg.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/web/html.h"
#include "daemon/web/wiring_layout.h"

namespace coilward {
namespace {

constexpr double kTextWidth = 262;  // from a box's lane to the right edge: fits a phone of 320 px
constexpr double kZoneRow = 50, kStateLine = 18;
// What fits beside a box in the page's type.
constexpr std::size_t kNameCharacters = 22, kStateCharacters = 36;
constexpr double kScaleWidth = 84;

class WiringDrawing {
 public:
  WiringDrawing(const SiteView& view, const Config& config)
      : view_(view), config_(config), marks_(stretch_marks(view.open, config)) {}

  std::string draw() {
    std::vector<WiringItem> items;
    for (const ZoneState& zone : view_.zones) items.push_back({box_of(zone.number), row_height(zone)});
    const WiringLayout layout = lay_out_wiring(config_, items);
    for (const PlacedStretch& stretch : layout.stretches) draw_stretch(stretch);
    for (const PlacedBox& box : layout.boxes) draw_box(box);
    const double width = lane_x(layout.lanes - 1) + kTextWidth;
    return fmt::format(
        "<svg class=\"wiring\" width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
        "role=\"group\" "
        "aria-label=\"Wiring of the site. The table below says the same.\">\n{2}</svg>\n",
        width, layout.height, out_);
  }

 private:
  int box_of(int zone) const {
    const ZoneConfig* configured = config_.zone(zone);
    return configured ? configured->box : -1;
  }
  double row_height(const ZoneState& zone) const {
    return kZoneRow + (zone_words(zone, view_).kind == "fine" ? 0 : kStateLine);
  }

  template <class... T>
  void put(fmt::format_string<T...> format, T&&... values) {
    fmt::format_to(std::back_inserter(out_), format, std::forward<T>(values)...);
  }

  void draw_stretch(const PlacedStretch& s) {
    const auto index = static_cast<std::size_t>(s.box);
    const BoxConfig& box = config_.boxes[index];
    const StretchMark& mark = marks_[index];
    const char* kind = !mark.finding ? "" : mark.best ? " broken" : " maybe";
    put("<g class=\"stretch{}\" data-stretch=\"{}\"><title>{}</title>", kind, html(box.id),
        html(title_of(box, mark)));
    put("<path d=\"M{:.0f} {:.0f}V{:.0f}H{:.0f}V{:.0f}\"/>", s.from_x, s.from_y, s.turn_y, s.x, s.y);
    const double y = s.y - kStretchRow / 3;
    if (mark.finding)
      draw_fault(s, mark, y, box.metres);
    else
      put("<text x=\"{:.0f}\" y=\"{:.0f}\">{}</text>", s.x + 12, y + 5, length_text(box.metres, config_));
    put("</g>\n");
  }

  // A gap in the line and a cross for the likeliest place, a question mark for the others.
  void draw_fault(const PlacedStretch& s, const StretchMark& mark, double y, double metres) {
    put("<a href=\"{}\"><use href=\"#i-{}\" x=\"{:.0f}\" y=\"{:.0f}\" width=\"24\" height=\"24\"/>",
        finding_path(*mark.finding), mark.best ? "cut" : "maybe", s.x - 12, y - 12);
    put("<text><tspan class=\"place\" x=\"{0:.0f}\" y=\"{1:.0f}\">{2} {3} %</tspan> "
        "<tspan x=\"{0:.0f}\" y=\"{4:.0f}\">{5}, {6}</tspan></text></a>",
        s.x + 16, y - 3, mark.best ? "Fault here?" : "or here?", in_hundred_text(mark.probability), y + 14,
        length_text(metres, config_), html(short_text(conductor_words(*mark.finding), 24)));
  }

  std::string title_of(const BoxConfig& box, const StretchMark& mark) const {
    std::string title =
        fmt::format("{} from {} to {}", length_text(box.metres, config_),
                    box.from == "controller" ? "the controller" : "box " + box.from, "box " + box.id);
    if (mark.finding)
      title += fmt::format(": fault of {}, {} in 100", conductor_words(*mark.finding),
                           in_hundred_text(mark.probability));
    return title;
  }

  void draw_box(const PlacedBox& placed) {
    const double x = lane_x(placed.lane);
    const bool controller = placed.box < 0;
    put("<rect class=\"{}\" x=\"{:.0f}\" y=\"{:.0f}\" width=\"{:.0f}\" height=\"{:.0f}\" rx=\"{}\"/>\n",
        controller ? "controller" : "box", x - kBoxWidth / 2, placed.y, kBoxWidth, placed.height,
        controller ? 3 : 9);
    const std::string name =
        controller ? "Controller" : "Box " + config_.boxes[static_cast<std::size_t>(placed.box)].id;
    put("<text class=\"head\" x=\"{:.0f}\" y=\"{:.0f}\">{}</text>\n", x + kBoxWidth / 2 + 10, placed.y + 22,
        html(short_text(name, kNameCharacters)));
    for (const PlacedRow& row : placed.rows) draw_zone(view_.zones[row.item], x + kBoxWidth / 2, row);
  }

  void draw_zone(const ZoneState& zone, double x, const PlacedRow& row) {
    const ZoneWords words = zone_words(zone, view_);
    const double text = x + 40, middle = row.y + 21;
    put("<a class=\"zone {}\" href=\"{}\" data-zone=\"{}\">", words.kind, zone_path(zone.number),
        zone.number);
    put("<rect class=\"touch\" x=\"{:.0f}\" y=\"{:.0f}\" width=\"{:.0f}\" height=\"{:.0f}\"/>", x + 2,
        row.y + 1, kTextWidth - kBoxWidth / 2 - 4, row.height - 4);
    put("<path class=\"stub\" d=\"M{:.0f} {:.0f}h12\"/>", x, middle);
    put("<use href=\"#i-{}\" x=\"{:.0f}\" y=\"{:.0f}\" width=\"24\" height=\"24\"/>", words.kind, x + 11,
        middle - 12);
    // One text, so that it is read out with gaps.
    put("<text><tspan class=\"name\" x=\"{0:.0f}\" y=\"{1:.0f}\">{2}</tspan> <tspan x=\"{0:.0f}\" "
        "y=\"{3:.0f}\" "
        "data-field=\"amps\">{4}</tspan> <tspan class=\"soft\" x=\"{5:.0f}\" data-field=\"when\">{6}</tspan>",
        text, row.y + 18, html(short_text(zone_heading(zone.number, zone.name), kNameCharacters)), row.y + 37,
        amps_text(words.amps), text + 62, words.when);
    if (row.height > kZoneRow)
      put(" <tspan class=\"state\" x=\"{:.0f}\" y=\"{:.0f}\">{}</tspan>", text, row.y + kZoneRow + 4,
          html(short_text(words.state, kStateCharacters)));
    put("</text>");
    draw_scale(zone, words, text + 122, row.y + 33);
    put("</a>\n");
  }

  // The normal band as a bar, the present draw as a pointer above it.
  void draw_scale(const ZoneState& zone, const ZoneWords& words, double x, double y) {
    const double low = scale_place(zone.normal.hold_low, zone.normal),
                 high = scale_place(zone.normal.hold_high, zone.normal),
                 now = scale_place(words.amps, zone.normal);
    if (!measured(low) || !measured(high)) return;
    put("<g class=\"scale\" transform=\"translate({:.0f} {:.0f})\"><title>normal: {}</title>", x, y,
        band_text(zone.normal));
    put("<path class=\"axis\" d=\"M0 4h{0:.0f}\"/><rect x=\"{1:.1f}\" y=\"0\" width=\"{2:.1f}\" "
        "height=\"8\"/>",
        kScaleWidth, low * kScaleWidth, std::max(3.0, (high - low) * kScaleWidth));
    put("<g class=\"pointer\" data-width=\"{0:.0f}\" transform=\"translate({1:.1f} 0)\"{2}><path d=\"M0 "
        "2l-5-9h10z\"/></g></g>",
        kScaleWidth, (measured(now) ? now : 0) * kScaleWidth, measured(now) ? "" : " visibility=\"hidden\"");
  }

  const SiteView& view_;
  const Config& config_;
  const std::vector<StretchMark> marks_;
  std::string out_;
};

}  // namespace

// The normal band is the middle third, so that a narrow one can be seen; what is far outside stands at an
// end.
double scale_place(double amps, const NormalDraw& normal) {
  const double width = normal.hold_high - normal.hold_low;
  if (!measured(amps) || !measured(width) || width <= 0) return kNotMeasured;
  return std::clamp((amps - normal.hold_low) / (3 * width) + 1.0 / 3, 0.0, 1.0);
}

std::string wiring_svg(const SiteView& view, const Config& config) {
  return WiringDrawing(view, config).draw();
}

}  // namespace coilward
