// The way of one zone's wire from the controller to its valve, stop by stop. Its common goes the same way.
#pragma once

#include <string_view>
#include <vector>

#include "daemon/config/config.h"

namespace coilward {

inline constexpr const char* kControllerName = "controller";
// Where the configuration does not say the zone's box: the end of a way that nobody described.
inline constexpr const char* kValveName = "valve";
// And the length it is taken to have, for weights alone. Own judgement.
inline constexpr double kUnknownMetres = 30;

struct Stop {
  std::string name;
  int box = -1;       // position in Config::boxes; -1: the controller, or a valve without a box
  double metres = 0;  // of wire from the stop before it
  double from_controller = 0;
};

// stops[0] is the controller, the last one is where the valve is. Thread: any.
struct WirePath {
  int zone = 0;
  std::vector<Stop> stops;
  int last() const { return static_cast<int>(stops.size()) - 1; }
  const Stop& stop(int i) const { return stops[static_cast<std::size_t>(i)]; }
  int stop_named(std::string_view name) const;  // -1: none
  int stop_of_box(int box) const;               // -1: none
};

// A zone that the configuration does not have has the controller alone.
WirePath wire_path(const Config& config, int zone);

// Does the way to `box` go by `via` (or end there)? Positions in Config::boxes; -1 is the controller.
bool goes_by(const Config& config, int box, int via);

}  // namespace coilward
