#include <fmt/format.h>

#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

constexpr std::size_t kMostNamed = 4;  // more zones than this are numbers only

std::string name_in_brackets(int zone, const Config& config) {
  const ZoneConfig* known = config.zone(zone);
  if (known == nullptr || known->name.empty() || known->name == fmt::format("Zone {}", zone)) return {};
  return fmt::format(" ({})", one_line(known->name, 60));
}

bool consecutive(const std::vector<int>& zones) {
  for (std::size_t i = 1; i < zones.size(); ++i)
    if (zones[i] != zones[i - 1] + 1) return false;
  return true;
}

std::string listed(const std::vector<std::string>& words) {
  std::string text = words.front();
  for (std::size_t i = 1; i < words.size(); ++i) text += (i + 1 == words.size() ? " and " : ", ") + words[i];
  return text;
}

}  // namespace

std::string zones_in_words(const std::vector<int>& zones, const Config& config) {
  if (zones.empty()) return "The site";
  if (zones.size() == 1 && zones.front() == kMasterZone) return "The master valve";
  if (zones.size() == 1)
    return fmt::format("Zone {}{}", zones.front(), name_in_brackets(zones.front(), config));
  if (zones.size() > kMostNamed && zones.front() != kMasterZone && consecutive(zones))
    return fmt::format("Zones {} to {}", zones.front(), zones.back());
  std::vector<std::string> words;
  for (int zone : zones)
    words.push_back(
        zone == kMasterZone
            ? std::string("the master valve")
            : fmt::format("{}{}", zone,
                          zones.size() <= kMostNamed ? name_in_brackets(zone, config) : std::string()));
  return (zones.front() == kMasterZone ? "Outputs " : "Zones ") + listed(words);
}

std::string headline(const Finding& f, const Config& config) {
  const std::string who = zones_in_words(f.zones, config);
  const bool many = f.zones.size() > 1;
  const auto say = [&](const char* one, const char* several) { return who + (many ? several : one); };
  switch (f.fault) {
    case Fault::open_circuit:
      return say(" is not watering: its wire, a splice or its coil is broken.",
                 " are not watering: their wires, splices or coils are broken.");
    case Fault::failed_common:
      return say(" is not watering: its common wire is broken.",
                 " are not watering: the common wire they share is broken.");
    case Fault::shorted_coil:
      return say(" draws too much current: its coil or its wires are shorted.",
                 " draw too much current: coils or wires are shorted.");
    case Fault::high_resistance:
      return say(" draws too little current: a splice or its wire is corroded or loose.",
                 " draw too little current: splices or wires are corroded or loose.");
    case Fault::common_high_resistance:
      return say(" draws too little current: its common wire has a corroded or loose splice.",
                 " draw too little current: the common wire they share has a corroded or loose splice.");
    case Fault::partial_open:
      return say(" has lost one of its valves: a part of it is not watering.",
                 " have each lost a valve: parts of them are not watering.");
    case Fault::crossed_wires:
      return who + (many ? " water together" : " waters with another") +
             std::string(": their wires touch somewhere.");
    case Fault::plunger_not_seated:
      return say(" may not open: its plunger does not move all the way.",
                 " may not open: their plungers do not move all the way.");
    case Fault::earth_leakage:
      return say(" leaks current into the ground: the insulation of its wire or a splice is damaged.",
                 " leak current into the ground: the insulation of a wire or a splice is damaged.");
    case Fault::supply_low:
      return "The 24 volt supply is low: valves may not open.";
    case Fault::supply_lost:
      return "Nothing is watering: the 24 volt supply is dead.";
    case Fault::stuck_on:
      return say(" is on although nobody switched it on: its output is stuck or leaks.",
                 " are on although nobody switched them on: outputs are stuck or leak.");
    case Fault::missed_run:
      return who + " should have run and did not.";
    case Fault::sensor_fault:
      return say(" is not watched at present: its sensor cannot be trusted.",
                 " are not watched at present: their sensors cannot be trusted.");
  }
  return who;
}

std::string one_line(std::string_view text, std::size_t most) {
  std::string line;
  for (char c : text) line += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
  if (line.size() <= most) return line;
  std::size_t end = most;
  while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xc0) == 0x80) --end;
  line.resize(end);
  return line;
}

}  // namespace coilward
