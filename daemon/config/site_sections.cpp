// site, supply, commons, boxes, zones: what stands in the ground.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "daemon/circuit/wire.h"
#include "daemon/config/sections.h"
#include "daemon/config/time_zones.h"

namespace coilward {
namespace {

constexpr int kCommonAwg = 14, kZoneAwg = 18;

bool good_id(std::string_view id) {
  return !id.empty() && id.size() <= 64 && std::all_of(id.begin(), id.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  });
}

// Becomes a level of a topic and a part of ids.
bool good_name(std::string_view id) {
  return !id.empty() && id.size() <= 64 && id.find_first_of("/+# \t\n\"") == std::string_view::npos;
}

ConductorConfig conductor(const TableReader& in, int otherwise) {
  ConductorConfig wire;
  wire.stranded = in.boolean("stranded", false);
  if (in.has("square_mm")) {
    if (in.has("awg")) in.complain("square_mm", "found beside awg; give one of them");
    wire.square_mm = in.number("square_mm", circuit::awg_square_mm(otherwise));
  } else {
    wire.awg = in.integer("awg", otherwise);
    wire.square_mm = circuit::awg_square_mm(wire.awg);
  }
  return wire;
}

template <class List>
std::string ids_of(const List& list) {
  std::vector<std::string> ids;
  for (const auto& item : list) ids.push_back(item.id);
  return ids.empty() ? "none is configured" : fmt::format("{}", fmt::join(ids, ", "));
}

// The part of [[zone]] and [master] that says where the valve is and what it takes.
void read_output(const TableReader& in, Config& config, ZoneConfig& zone) {
  zone.name = in.text("name", zone.name);
  zone.wire = conductor(in, kZoneAwg);
  zone.valves = in.integer("valves", 1);
  zone.hold_amps = in.number("hold_amps", kNotMeasured);
  zone.inrush_amps = in.number("inrush_amps", kNotMeasured);
  if (measured(zone.hold_amps) && measured(zone.inrush_amps) && zone.inrush_amps < zone.hold_amps)
    in.complain("inrush_amps",
                fmt::format("found {}, below hold_amps {}; the inrush current is the larger one",
                            zone.inrush_amps, zone.hold_amps));
  if (in.has("box")) {
    const std::string box = in.text("box");
    zone.box = config.box_by_id(box);
    if (zone.box < 0)
      in.complain("box", fmt::format("found \"{}\", which is no box; boxes: {}", box, ids_of(config.boxes)));
  }
  if (in.has("common")) {
    const std::string common = in.text("common");
    zone.common = config.common_by_id(common);
    if (zone.common < 0)
      in.complain("common", fmt::format("found \"{}\", which is no common; commons: {}", common,
                                        ids_of(config.commons)));
  }
}

}  // namespace

void read_site(const toml::table& root, Config& config, Complaints& complaints) {
  if (!root.contains("site")) complaints.add(1, "site: missing; needed: a table [site] with an id");
  one(root, "site", complaints, [&](const TableReader& in) {
    config.site.id = in.text("id");
    if (in.has("id") && !good_id(config.site.id))
      in.complain("id",
                  fmt::format("found \"{}\"; allowed are a-z, 0-9 and '-', at most 64", config.site.id));
    config.site.name = in.text("name", config.site.id);
    config.site.timezone = in.text("timezone", "UTC");
    if (!is_time_zone(config.site.timezone))
      in.complain("timezone", fmt::format("found \"{}\"; allowed is an IANA time zone; {}",
                                          config.site.timezone, time_zone_hint(config.site.timezone)));
    const std::string lengths = in.text("lengths", "metres");
    config.site.feet = lengths == "feet";
    if (!config.site.feet && lengths != "metres")
      in.complain("lengths", fmt::format("found \"{}\"; allowed are metres and feet", lengths));
  });
}

void read_supply(const toml::table& root, Config& config, Complaints& complaints) {
  one(root, "supply", complaints, [&](const TableReader& in) {
    config.supply.volts = in.number("volts", config.supply.volts);
    config.supply.hertz = in.number("hertz", config.supply.hertz);
    if (config.supply.hertz != 50 && config.supply.hertz != 60)
      in.complain("hertz", fmt::format("found {}; allowed are 50 and 60", config.supply.hertz));
    config.supply.volt_amps = in.number("volt_amps", config.supply.volt_amps);
    config.supply.source_ohms = in.number("source_ohms", kNotMeasured);
  });
}

void read_commons(const toml::table& root, Config& config, Complaints& complaints) {
  each(root, "common", complaints, [&](const TableReader& in) {
    CommonConfig common{in.text("id"), conductor(in, kCommonAwg)};
    if (in.has("id") && !good_name(common.id))
      in.complain("id",
                  fmt::format("found \"{}\"; allowed is a name without spaces, '/', '+' and '#'", common.id));
    if (config.common_by_id(common.id) >= 0)
      in.complain("id", fmt::format("found \"{}\" twice; each common has a name of its own", common.id));
    config.commons.push_back(common);
  });
  if (config.commons.size() > 250) complaints.add(1, "common: more than 250");
  if (config.commons.empty())
    config.commons.push_back({"main", {circuit::awg_square_mm(kCommonAwg), kCommonAwg, false}});
}

void read_boxes(const toml::table& root, Config& config, Complaints& complaints) {
  std::vector<std::uint32_t> lines;
  each(root, "box", complaints, [&](const TableReader& in) {
    BoxConfig box;
    box.id = in.text("id");
    box.from = in.text("from", "controller");
    box.metres = in.has("feet") ? circuit::metres_from_feet(in.number("feet", 0)) : in.number("metres", 0);
    if (in.has("feet") && in.has("metres")) in.complain("feet", "found beside metres; give one of them");
    if (!in.has("feet") && !in.has("metres"))
      in.complain("metres",
                  "missing; needed: the length of wire from the box before it, in metres = or feet =");
    if (box.id == "controller")
      in.complain("id", "found \"controller\", which is the controller itself; choose another name");
    if (in.has("id") && box.id.empty()) in.complain("id", "found nothing; allowed is a name");
    if (config.box_by_id(box.id) >= 0)
      in.complain("id", fmt::format("found \"{}\" twice; each box has a name of its own", box.id));
    box.splices = in.integer("splices", 1);
    box.repaired = in.boolean("repaired", false);
    box.dug = in.boolean("dug", false);
    lines.push_back(in.line_of("from"));
    config.boxes.push_back(box);
  });
  for (std::size_t i = 0; i < config.boxes.size(); ++i) {
    auto& box = config.boxes[i];
    if (box.from == "controller") continue;
    box.parent = config.box_by_id(box.from);
    if (box.parent < 0)
      complaints.add(lines[i], fmt::format("box.from: found \"{}\", which is no box; boxes: controller, {}",
                                           box.from, ids_of(config.boxes)));
  }
  for (std::size_t i = 0; i < config.boxes.size(); ++i) {
    std::size_t steps = 0;
    for (int at = static_cast<int>(i); at >= 0 && steps <= config.boxes.size();
         at = config.boxes[static_cast<std::size_t>(at)].parent)
      ++steps;
    if (steps <= config.boxes.size()) continue;
    complaints.add(lines[i],
                   fmt::format("box.from: \"{}\" leads back to itself; every box must lead to the controller",
                               config.boxes[i].id));
    config.boxes[i].parent = -1;
  }
}

void read_visit(const toml::table& root, Config& config, Complaints& complaints) {
  one(root, "visit", complaints, [&](const TableReader& in) {
    const auto read = [&](const char* key, double& value) { value = in.number(key, value); };
    auto& visit = config.visit;
    read("walk_metres_per_minute", visit.walk_metres_per_minute);
    read("open_box_minutes", visit.open_box_minutes);
    read("volts_minutes", visit.volts_minutes);
    read("ohms_minutes", visit.ohms_minutes);
    read("source_minutes", visit.source_minutes);
    read("source_setup_minutes", visit.source_setup_minutes);
    read("dig_minutes_per_metre", visit.dig_minutes_per_metre);
    read("splice_minutes", visit.splice_minutes);
    read("coil_minutes", visit.coil_minutes);
    read("controller_minutes", visit.controller_minutes);
    read("dug_weight", visit.dug_weight);
    read("repaired_weight", visit.repaired_weight);
  });
}

void read_zones(const toml::table& root, Config& config, Complaints& complaints) {
  std::set<int> numbers;
  each(root, "zone", complaints, [&](const TableReader& in) {
    ZoneConfig zone;
    zone.number = in.integer("number", 0);
    zone.name = fmt::format("Zone {}", zone.number);
    if (zone.number > 0 && !numbers.insert(zone.number).second)
      in.complain("number", fmt::format("found {} twice; each zone has a number of its own", zone.number));
    read_output(in, config, zone);
    config.zones.push_back(std::move(zone));
  });
  if (!root.contains("zone")) complaints.add(1, "zone: missing; needed: at least one [[zone]]");
  std::stable_sort(config.zones.begin(), config.zones.end(),
                   [](const auto& a, const auto& b) { return a.number < b.number; });
  one(root, "master", complaints, [&](const TableReader& in) {
    config.master.present = true;
    config.master.output.number = kMasterZone;
    config.master.output.name = "Master";
    read_output(in, config, config.master.output);
  });
}

}  // namespace coilward
