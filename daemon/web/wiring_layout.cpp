#include "daemon/web/wiring_layout.h"

#include <algorithm>

namespace coilward {
namespace {

constexpr double kTopMargin = 4;
constexpr double kBesideStep = 7;  // between wires that leave one box together

class WiringPlacer {
 public:
  WiringPlacer(const Config& config, const std::vector<WiringItem>& items) : config_(config), items_(items) {
    children_.resize(config.boxes.size() + 1);
    for (std::size_t i = 0; i < config.boxes.size(); ++i)
      children_[slot(config.boxes[i].parent)].push_back(static_cast<int>(i));
  }

  WiringLayout place() {
    layout_.height = kTopMargin;
    place_box(-1, 0);
    layout_.height += kTopMargin;
    return std::move(layout_);
  }

 private:
  static std::size_t slot(int box) { return static_cast<std::size_t>(box + 1); }

  // How many boxes there are from here on, this one included.
  std::size_t weight(int box) const {
    std::size_t sum = 1;
    for (const int child : children_[slot(box)]) sum += weight(child);
    return sum;
  }

  // The longest way on comes last: it stays in the lane.
  std::vector<int> in_order(int box) const {
    std::vector<int> children = children_[slot(box)];
    if (children.empty()) return children;
    const auto longest = std::max_element(children.begin(), children.end(),
                                          [&](int a, int b) { return weight(a) < weight(b); });
    std::rotate(longest, longest + 1, children.end());
    return children;
  }

  void place_box(int box, int lane) {
    layout_.lanes = std::max(layout_.lanes, lane + 1);
    PlacedBox placed{box, lane, layout_.height, kBoxHead, {}};
    for (std::size_t i = 0; i < items_.size(); ++i) {
      if (items_[i].box != box) continue;
      placed.rows.push_back({i, placed.y + placed.height, items_[i].height});
      placed.height += items_[i].height;
    }
    layout_.height += placed.height;
    const double bottom = layout_.height;
    layout_.boxes.push_back(std::move(placed));
    place_children(box, lane, bottom);
  }

  void place_children(int box, int lane, double bottom) {
    const std::vector<int> children = in_order(box);
    // The first to turn off leaves furthest to the right, so that no two cross; the last goes straight on.
    double beside = std::min(kBesideStep * static_cast<double>(children.size() - 1), kBoxWidth / 2 - 3);
    for (const int child : children) {
      const bool straight = child == children.back();
      const int to = straight ? lane : lane + 1;
      const double from_x = lane_x(lane) + (straight ? 0 : beside);
      beside = std::max(beside - kBesideStep, 3.0);
      const double turn = straight ? bottom : layout_.height + kStretchRow / 3;
      layout_.height += kStretchRow;
      layout_.stretches.push_back({child, from_x, bottom, turn, lane_x(to), layout_.height});
      place_box(child, to);
    }
  }

  const Config& config_;
  const std::vector<WiringItem>& items_;
  std::vector<std::vector<int>> children_;
  WiringLayout layout_;
};

}  // namespace

double lane_x(int lane) { return 4 + kBoxWidth / 2 + kLanePitch * lane; }

WiringLayout lay_out_wiring(const Config& config, const std::vector<WiringItem>& items) {
  return WiringPlacer(config, items).place();
}

}  // namespace coilward
