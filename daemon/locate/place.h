// The places where a fault may be, as contract section 9 names them. Plain data.
#pragma once

#include <string>

namespace coilward {

enum class PlaceKind { segment, splice, coil, controller };
enum class Conductor { zone, common };

// segment: `from` and `to`; splice and coil: `at`. Names are "controller", a box's id, or "valve" where the
// configuration does not say the valve's box.
struct Place {
  PlaceKind kind = PlaceKind::controller;
  Conductor conductor = Conductor::zone;  // of a segment or splice
  std::string from, to, at;
  int zone = 0;  // of a coil
  double probability = 0;
  bool same_spot(const Place& o) const {
    return kind == o.kind && conductor == o.conductor && from == o.from && to == o.to && at == o.at;
  }
};

}  // namespace coilward
