#include "daemon/commission/commission.h"

#include <fmt/format.h>

#include <sstream>

#include "daemon/circuit/wire.h"
#include "daemon/commission/zone_walk.h"

namespace coilward {
namespace {

constexpr const char* kCare =
    "Take care: the 24 volt side is limited in power; the mains side of the transformer is for a licensed\n"
    "electrician. Switch a zone off before you reach into a wet box. Follow the local codes.";

// "25", "25m", "80ft".
Result<double> metres_of(const std::string& text) {
  char* end = nullptr;
  const double value = std::strtod(text.c_str(), &end);
  const std::string unit = end;
  if (end != text.c_str() && value > 0 && value < 10000) {
    if (unit.empty() || unit == "m") return value;
    if (unit == "ft") return circuit::metres_from_feet(value);
  }
  return Error{Cause::bad_input, fmt::format("'{}' is no length: 25, 25m or 80ft", text)};
}

// "B A 31": box, the one before it, the wire between them.
Result<BoxConfig> box_of(const std::string& line, const Config& config) {
  std::istringstream words(line);
  BoxConfig box;
  std::string length, more;
  if (!(words >> box.id >> box.from >> length) || words >> more)
    return Error{Cause::bad_input, "say box, the one before it, and the metres between: B A 31"};
  const auto metres = metres_of(length);
  if (!metres) return metres.error();
  box.metres = *metres;
  box.parent = config.box_by_id(box.from);
  if (box.from != "controller" && box.parent < 0)
    return Error{Cause::bad_input,
                 fmt::format("there is no box '{}' yet: name them from the controller on", box.from)};
  if (box.id == "controller" || config.box_by_id(box.id) >= 0)
    return Error{Cause::bad_input, fmt::format("'{}' is taken", box.id)};
  return box;
}

Result<bool> ask_boxes(Dialogue& dialogue, Config& config) {
  if (!config.boxes.empty()) {
    const auto keep = dialogue.yes(fmt::format("{} boxes are known. Keep them?", config.boxes.size()), true);
    if (!keep) return keep.error();
    if (*keep) return true;
    config.boxes.clear();
    for (ZoneConfig& zone : config.zones) zone.box = -1;
    config.master.output.box = -1;
  }
  dialogue.say(
      "Boxes in the order the wire reaches them, one a line: its name, the one before it, the length "
      "between\n"
      "(A controller 18, then B A 31; 60ft works too). An empty line ends them.");
  for (;;) {
    const auto line = dialogue.ask("Next box, empty for no more >");
    if (!line) return line.error();
    if (line->empty()) return true;
    auto box = box_of(*line, config);
    if (box)
      config.boxes.push_back(std::move(*box));
    else
      dialogue.say(box.error().what);
  }
}

Result<bool> ask_gauge(Dialogue& dialogue, const std::string& what, ConductorConfig& wire) {
  const auto awg = dialogue.number(fmt::format("Gauge of {}, AWG (0: keep {:.2g} mm2)", what, wire.square_mm),
                                   wire.awg, 0, 26);
  if (!awg) return awg.error();
  if (*awg < 1) return true;
  wire.awg = static_cast<int>(*awg);
  wire.square_mm = circuit::awg_square_mm(wire.awg);
  return true;
}

Result<bool> ask_wires(Dialogue& dialogue, Config& config) {
  for (CommonConfig& common : config.commons)
    if (auto asked = ask_gauge(dialogue, "the common " + common.id, common.wire); !asked) return asked;
  if (config.zones.empty())
    return Error{Cause::bad_input, "the configuration has no zone yet: name their numbers there"};
  ConductorConfig wire = config.zones.front().wire;
  if (auto asked = ask_gauge(dialogue, "the zone wires", wire); !asked) return asked;
  for (ZoneConfig& zone : config.zones) zone.wire = wire;
  return true;
}

}  // namespace

Result<Commissioned> commission_site(Dialogue& dialogue, const CommissionLinks& links, Config start) {
  Commissioned site{std::move(start), {}};
  dialogue.say(
      fmt::format("{}: {} zones, one after the other. An empty answer takes what stands in brackets.\n{}\n",
                  site.config.site.name, site.config.zones.size(), kCare));
  if (auto asked = ask_boxes(dialogue, site.config); !asked) return asked.error();
  if (auto asked = ask_wires(dialogue, site.config); !asked) return asked.error();
  for (std::size_t i = 0; i < site.config.zones.size(); ++i) {
    dialogue.say("");
    if (auto asked = ask_zone(dialogue, site.config, site.config.zones[i]); !asked) return asked.error();
    const ZoneConfig zone = site.config.zones[i];
    auto note = look_at_zone(dialogue, links, site.config, zone);
    if (!note) return note.error();
    site.notes[zone.number] = std::move(*note);
  }
  return site;
}

}  // namespace coilward
