#include "daemon/locate/wire_path.h"

#include <algorithm>

namespace coilward {

int WirePath::stop_named(std::string_view name) const {
  for (int i = 0; i <= last(); ++i)
    if (stop(i).name == name) return i;
  return -1;
}

int WirePath::stop_of_box(int box) const {
  if (box < 0) return 0;
  for (int i = 1; i <= last(); ++i)
    if (stop(i).box == box) return i;
  return -1;
}

WirePath wire_path(const Config& config, int zone) {
  WirePath path{zone, {}};
  const ZoneConfig* configured = config.zone(zone);
  for (int at = configured ? configured->box : -1; at >= 0;) {
    const BoxConfig& box = config.boxes[static_cast<std::size_t>(at)];
    path.stops.push_back({box.id, at, box.metres, 0});
    at = box.parent;
  }
  path.stops.push_back({kControllerName, -1, 0, 0});
  std::reverse(path.stops.begin(), path.stops.end());
  if (configured && configured->box < 0) path.stops.push_back({kValveName, -1, kUnknownMetres, 0});
  double sum = 0;
  for (Stop& stop : path.stops) stop.from_controller = sum += stop.metres;
  return path;
}

bool goes_by(const Config& config, int box, int via) {
  for (; box >= 0; box = config.boxes[static_cast<std::size_t>(box)].parent)
    if (box == via) return true;
  return via < 0;
}

}  // namespace coilward
