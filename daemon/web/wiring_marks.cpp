#include <algorithm>

#include "daemon/web/wiring_svg.h"

namespace coilward {
namespace {

constexpr double kWorthMarking = 0.05;  // places less likely than this are left out, as alerts do

int parent_of(int box, const Config& config) { return config.boxes[static_cast<std::size_t>(box)].parent; }

// Boxes from this one up to, and without, the controller; empty for the controller.
std::vector<int> way_up(const std::string& place, const Config& config) {
  std::vector<int> way;
  for (int box = config.box_by_id(place); box >= 0; box = parent_of(box, config)) way.push_back(box);
  return way;
}

// The boxes whose wire lies between the two places: those above one of them only.
std::vector<int> between(const Stretch& stretch, const Config& config) {
  const auto from = way_up(stretch.from, config), to = way_up(stretch.to, config);
  std::vector<int> boxes;
  for (const int box : to)
    if (std::find(from.begin(), from.end(), box) == from.end()) boxes.push_back(box);
  for (const int box : from)
    if (std::find(to.begin(), to.end(), box) == to.end()) boxes.push_back(box);
  return boxes;
}

bool stronger(const StretchMark& a, const StretchMark& b) {
  if (!b.finding || a.best != b.best) return !b.finding || a.best;
  return a.probability > b.probability;
}

}  // namespace

std::vector<StretchMark> stretch_marks(const std::vector<Finding>& open, const Config& config) {
  std::vector<StretchMark> marks(config.boxes.size());
  for (const Finding& finding : open)
    for (const Stretch& place : finding.where) {
      const StretchMark mark{&finding, place.probability, &place == &finding.where.front()};
      if (!mark.best && place.probability < kWorthMarking) continue;
      for (const int box : between(place, config)) {
        StretchMark& present = marks[static_cast<std::size_t>(box)];
        if (stronger(mark, present)) present = mark;
      }
    }
  return marks;
}

}  // namespace coilward
