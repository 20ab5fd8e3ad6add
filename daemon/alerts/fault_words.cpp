#include "daemon/alerts/fault_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/locate/locate.h"

namespace coilward {
namespace {

constexpr const char* kWetBox = "Switch the zone off before you reach into a wet box.";
constexpr const char* kDigging = "Have buried services located before you dig.";
constexpr const char* kLimited =
    "The 24 volt side is limited in power. The mains side of the transformer is for a licensed electrician.";
constexpr const char* kCodes = "Follow the local codes.";

constexpr const char* kTestSource =
    "To find the place, switch the zone off and take its wire off the controller. Drive the wire with a 40 "
    "volt "
    "test source. About 35 volts to an earth stake at the far end means a good wire. 0.3 volts or less means "
    "a "
    "broken one. Prove the common wire the same way, on its own.";

std::string zone_text(const Finding& finding) {
  return finding.zones.empty() ? "a zone" : fmt::format("zone {}", finding.zones.front());
}

std::string place_text(const std::string& name) {
  return name == kControllerName || name == kValveName ? "at the " + name : fmt::format("in box {}", name);
}

// Where to stand for the volts that leave the least work: as `coilward locate` would say, the zones that are
// not in the finding taken to draw; else the far end of the likeliest stretch.
std::string far_place(const Finding& finding, const Config& config) {
  LocateInput input{config, finding, {}, kNotMeasured, {}};
  for (const ZoneConfig& zone : config.zones)
    if (std::find(finding.zones.begin(), finding.zones.end(), zone.number) == finding.zones.end())
      input.neighbours.push_back({zone.number, true, true});
  const auto next = locate_fault(input).next;
  if (next && next->kind == ReadingKind::volts_on && next->at != kControllerName) return place_text(next->at);
  return place_text(finding.where.empty() ? kValveName : finding.where.front().to);
}

std::string open_circuit(const Finding& f, const Config& config) {
  return fmt::format(
      "Switch {} on. Measure the volts from its wire to the common at the controller. 24 to 28 volts means "
      "that "
      "the controller is good. Then measure the same {}. 24 to 28 volts there means that the break is "
      "beyond, or "
      "in the coil. 0 to 2 volts means that it is before. {}",
      zone_text(f), far_place(f, config), kTestSource);
}

std::string failed_common(const Finding& f, const Config& config) {
  return fmt::format(
      "Switch {} on. Measure the volts from its wire to the common {}. 24 to 28 volts means that the common "
      "is "
      "good up to there. 0 to 2 volts means that it is broken before. To prove the common on its own, take "
      "it "
      "off the controller and drive it with a 40 volt test source. About 35 volts to an earth stake at the "
      "far "
      "end means a good wire. 0.3 volts or less means a broken one.",
      zone_text(f), far_place(f, config));
}

std::string shorted(const Finding& f) {
  return fmt::format(
      "Leave {0} off and take its wire off the controller. Measure the ohms from that wire to the common. A "
      "good "
      "coil and its wire show about 20 to 60 ohms. Much less means a short. Part the wires at the valve and "
      "measure again. Still low means that the wires touch. No reading means that the coil is shorted.",
      zone_text(f));
}

std::string weak_splice(const Finding& f, const Config& config) {
  return fmt::format(
      "Switch {} on. Measure the volts from its wire to the common at the controller and then {}. A drop of "
      "more "
      "than 4 volts between the two means a bad splice or wire between them.",
      zone_text(f), far_place(f, config));
}

std::string partial(const Finding& f) {
  return fmt::format(
      "Switch {} on and look which of its valves stays shut. Measure the volts at that valve. 24 to 28 volts "
      "means that its coil is broken. 0 to 2 volts means that its splice or wire is.",
      zone_text(f));
}

std::string crossed(const Finding& f) {
  return fmt::format(
      "Switch {} on and look which other zone opens too. Then switch it off and take both wires off the "
      "controller. Measure the ohms between the two wires. Less than 10 ohms means that they touch.",
      zone_text(f));
}

std::string plunger(const Finding& f) {
  return fmt::format(
      "Switch {} on. Measure the volts at the valve. Less than 20 volts means a weak supply or a bad splice. "
      "24 "
      "to 28 volts means that the valve itself sticks. Shut the water off before you open it to clean it.",
      zone_text(f));
}

std::string leakage(const Finding& f) {
  return fmt::format(
      "Leave {} off and take its wire off the controller. Measure the ohms from that wire to an earth stake. "
      "Less than 100000 ohms means that its insulation is damaged.",
      zone_text(f));
}

std::string stuck(const Finding& f) {
  return fmt::format(
      "Look whether {0} waters. If it does, shut its water off. Take its wire off the controller and measure "
      "the "
      "volts from that output to the common. Any steady voltage with the zone off means a stuck output.",
      zone_text(f));
}

}  // namespace

std::string_view fault_phrase(Fault fault) {
  switch (fault) {
    case Fault::open_circuit:
      return "broken wire, splice or coil";
    case Fault::failed_common:
      return "broken common wire";
    case Fault::shorted_coil:
      return "short in the coil or its wires";
    case Fault::high_resistance:
      return "bad splice in the zone wire";
    case Fault::common_high_resistance:
      return "bad splice in the common wire";
    case Fault::partial_open:
      return "loss of one valve of several";
    case Fault::crossed_wires:
      return "contact between two zones' wires";
    case Fault::plunger_not_seated:
      return "valve that does not open fully";
    case Fault::earth_leakage:
      return "leak of current into the ground";
    case Fault::supply_low:
      return "low 24 volt supply";
    case Fault::supply_lost:
      return "dead 24 volt supply";
    case Fault::stuck_on:
      return "output that is on without a command";
    case Fault::missed_run:
      return "missed run";
    case Fault::sensor_fault:
      return "sensor fault";
  }
  return "fault";
}

std::string next_reading(const Finding& f, const Config& config) {
  switch (f.fault) {
    case Fault::open_circuit:
      return open_circuit(f, config);
    case Fault::failed_common:
      return failed_common(f, config);
    case Fault::shorted_coil:
      return shorted(f);
    case Fault::high_resistance:
    case Fault::common_high_resistance:
      return weak_splice(f, config);
    case Fault::partial_open:
      return partial(f);
    case Fault::crossed_wires:
      return crossed(f);
    case Fault::plunger_not_seated:
      return plunger(f);
    case Fault::earth_leakage:
      return leakage(f);
    case Fault::supply_low:
      return fmt::format(
          "Measure the volts of the transformer's low side with all zones off, then with one on. It is rated "
          "for "
          "{:g} volts. A large drop with one zone on means a weak transformer or a loose terminal.",
          config.supply.volts);
    case Fault::supply_lost:
      return "Look whether the controller has power. Look at its fuse or breaker. Measure the volts of the "
             "transformer's low side. 24 to 28 volts means that the transformer is good.";
    case Fault::stuck_on:
      return stuck(f);
    case Fault::missed_run:
      return "Look at the controller's programme, its rain delay and its clock. Then start the zone by hand.";
    case Fault::sensor_fault:
      return "Look at the sensor's power and plug. Compare it with a clamp meter on the same wire.";
  }
  return {};
}

std::string cautions(Fault fault) {
  switch (fault) {
    case Fault::supply_low:
    case Fault::supply_lost:
      return fmt::format("{} {}", kLimited, kCodes);
    case Fault::missed_run:
      return {};
    case Fault::sensor_fault:
      return fmt::format("Switch the zones off before you touch their wires. {}", kLimited);
    case Fault::stuck_on:
      return fmt::format("{} {}", kLimited, kCodes);
    case Fault::shorted_coil:
      return fmt::format("Do not keep switching it on: wires and transformer may overheat. {} {} {} {}",
                         kWetBox, kLimited, kDigging, kCodes);
    default:
      return fmt::format("{} {} {} {}", kWetBox, kLimited, kDigging, kCodes);
  }
}

}  // namespace coilward
