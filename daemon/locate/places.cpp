#include "daemon/locate/places.h"

#include <algorithm>

namespace coilward {
namespace {

// Common practice, rough: a splice fails as often as ten metres of buried wire, a coil as often as one and a
// half splices, a controller's terminal seldom.
constexpr double kSpliceMetres = 10, kCoilMetres = 15, kControllerMetres = 3;

}  // namespace

Stretch stretch_to(const Config& config, int box, double probability) {
  if (box < 0) return {"controller", "controller", probability};
  const auto& b = config.boxes[static_cast<std::size_t>(box)];
  return {b.parent < 0 ? "controller" : config.boxes[static_cast<std::size_t>(b.parent)].id, b.id,
          probability};
}

std::vector<Stretch> places_on_zone_wire(const Config& config, int zone, bool coil_possible) {
  const ZoneConfig* z = config.zone(zone);
  if (!z || z->box < 0) return {};
  double total = kControllerMetres + (coil_possible ? kCoilMetres * z->valves : 0);
  std::vector<Stretch> places;
  for (int box = z->box; box >= 0; box = config.boxes[static_cast<std::size_t>(box)].parent) {
    const double weight = config.boxes[static_cast<std::size_t>(box)].metres + kSpliceMetres;
    places.push_back(stretch_to(config, box, weight));
    total += weight;
  }
  for (auto& place : places) place.probability /= total;
  std::stable_sort(places.begin(), places.end(),
                   [](const auto& a, const auto& b) { return a.probability > b.probability; });
  return places;
}

}  // namespace coilward
