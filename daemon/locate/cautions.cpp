#include "daemon/locate/cautions.h"

namespace coilward {
namespace {

constexpr const char* kWet = "Switch the zone off before you touch wires in a wet box.";
constexpr const char* kMains =
    "The 24 volt side is limited in power; the mains side of the transformer is for a licensed electrician.";

}  // namespace

std::string reading_caution(Fault fault, ReadingKind kind, bool at_controller) {
  if (fault == Fault::shorted_coil)
    return std::string("Do not keep switching it on: wires and transformer may overheat. ") +
           (at_controller ? kMains : kWet);
  if (fault == Fault::partial_open)
    return std::string("Measure at the leads of the valve that stays shut. ") + kWet;
  if (kind == ReadingKind::source_volts)
    return std::string(
               "Switch the zone off and take the wire off the controller before the test source drives "
               "it; do not touch bare ends while it does. ") +
           kWet;
  return at_controller ? kMains : kWet;
}

std::string mending_caution(const Place& place) {
  switch (place.kind) {
    case PlaceKind::segment:
      return "Have buried services located before you dig. Follow the local codes.";
    case PlaceKind::controller:
      return std::string(kMains) + " Follow the local codes.";
    default:
      return std::string(kWet) + " Follow the local codes.";
  }
}

}  // namespace coilward
