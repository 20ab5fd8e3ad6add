#include "daemon/locate/reading_text.h"

#include <fmt/format.h>

#include "daemon/locate/ladder.h"

namespace coilward {
namespace {

std::string stop_text(const std::string& at) {
  return at == kControllerName || at == kValveName ? "the " + at : "box " + at;
}

std::string conductor_text(Conductor conductor) {
  return conductor == Conductor::zone ? "zone wire" : "common";
}

// As fine as a meter in the field is read.
std::string rounded_text(double value) {
  return value < 100 ? fmt::format("{:.3g}", value) : fmt::format("{:.0f}", value);
}

}  // namespace

std::string at_text(const std::string& at) {
  return (at == kControllerName || at == kValveName ? "at the " : "in box ") + at;
}

std::string place_text(const Place& place) {
  switch (place.kind) {
    case PlaceKind::segment:
      return fmt::format("the {} between {} and {}", conductor_text(place.conductor), stop_text(place.from),
                         stop_text(place.to));
    case PlaceKind::splice:
      return fmt::format("the splice of the {} {}", conductor_text(place.conductor), at_text(place.at));
    case PlaceKind::coil:
      return fmt::format("the coil of zone {} {}", place.zone, at_text(place.at));
    case PlaceKind::controller:
      return "the controller: its output, its terminals or what feeds it";
  }
  return {};
}

std::string task_text(const NextReading& next) {
  const std::string where = at_text(next.at);
  if (next.kind == ReadingKind::volts_on)
    return fmt::format(
        "With zone {} on, measure the volts between its wire and the common {}, on the side that comes from "
        "the controller.",
        next.zone, where);
  if (next.kind == ReadingKind::ohms)
    return fmt::format(
        "With zone {} off, take its wire and the common apart {} and measure the ohms between them toward "
        "the {}.",
        next.zone, where, toward_name(next.toward));
  return fmt::format(
      "With zone {} off, take the {} off the controller and drive it with a test source of 40 volts. Measure "
      "the volts from that wire to an earth stake {}.",
      next.zone, conductor_text(next.conductor), where);
}

std::string expected_text(const ExpectedReading& expected, ReadingKind kind) {
  const std::string unit = kind == ReadingKind::ohms ? "ohms" : "volts";
  if (expected.high >= kOpenOhms)
    return fmt::format("over {} {}, or no path", rounded_text(expected.low), unit);
  return fmt::format("{} to {} {}", rounded_text(expected.low), rounded_text(expected.high), unit);
}

std::string meaning_text(const NextReading& next, const ExpectedReading& expected) {
  const std::string at = stop_text(next.at);
  if (next.at == kControllerName)
    return expected.before ? "the fault is in the controller" : "the fault is beyond its terminals";
  if (next.kind == ReadingKind::source_volts)
    return expected.before ? fmt::format("that wire is broken between the controller and {}", at)
                           : fmt::format("that wire is good as far as {}", at);
  if (next.kind == ReadingKind::ohms && next.toward == Toward::valve)
    return expected.before ? fmt::format("the fault is in the splices {} or before them", at_text(next.at))
                           : fmt::format("the fault is beyond {}", at);
  return expected.before ? fmt::format("the fault is between the controller and {}", at)
                         : fmt::format("the fault is beyond that, splices {} included", at_text(next.at));
}

std::string shown_text(const TestReading& r) {
  if (r.kind == ReadingKind::volts_on) return fmt::format("{:g} V, zone on", r.value);
  if (r.kind == ReadingKind::ohms)
    return (r.value >= kOpenOhms ? std::string("no path") : fmt::format("{:g} ohms", r.value)) +
           fmt::format(" toward the {}", toward_name(r.toward));
  return fmt::format("{:g} V to earth, {:g} V source on the {}", r.value, r.source_volts,
                     conductor_text(r.conductor));
}

}  // namespace coilward
