#include "daemon/commission/first_config.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <sstream>

namespace coilward {
namespace {

constexpr std::array<std::string_view, 5> kWrittenHere = {"site", "supply", "common", "box", "zone"};

// "zone" for "[[zone]]  # comment"; empty for a line that opens no table.
std::string table_of(std::string_view line) {
  const auto at = line.find_first_not_of(" \t");
  if (at == std::string_view::npos || line[at] != '[') return {};
  const auto from = line.find_first_not_of("[ \t", at);
  if (from == std::string_view::npos) return {};
  return std::string(line.substr(from, line.find_first_of("].\t ", from) - from));
}

// The tables that are not written here, as they stand, comments before them included in the table they
// follow.
std::string other_tables(std::string_view text) {
  std::istringstream lines{std::string(text)};
  std::string kept;
  bool keep = false;
  for (std::string line; std::getline(lines, line);) {
    if (const std::string table = table_of(line); !table.empty())
      keep = std::ranges::count(kWrittenHere, std::string_view(table)) == 0;
    if (keep) kept += line + "\n";
  }
  return kept;
}

// A TOML basic string.
std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7f) out += c;
  }
  return out + "\"";
}

std::string one_comment(std::string text) {
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  return text;
}

std::string wire_line(const ConductorConfig& wire) {
  return (wire.awg > 0 ? fmt::format("awg = {}\n", wire.awg)
                       : fmt::format("square_mm = {:g}\n", wire.square_mm)) +
         (wire.stranded ? "stranded = true\n" : "");
}

std::string site_lines(const Config& c) {
  std::string out = fmt::format("[site]\nid = {}\nname = {}\ntimezone = {}\n", quoted(c.site.id),
                                quoted(c.site.name), quoted(c.site.timezone));
  if (c.site.feet) out += "lengths = \"feet\"\n";
  out += fmt::format(
      "\n[supply]\nvolts = {:g}\nhertz = {:g}\nvolt_amps = {:g}  # as printed on the transformer\n",
      c.supply.volts, c.supply.hertz, c.supply.volt_amps);
  if (measured(c.supply.source_ohms)) out += fmt::format("source_ohms = {:g}\n", c.supply.source_ohms);
  for (const CommonConfig& common : c.commons)
    out += fmt::format("\n[[common]]\nid = {}\n{}", quoted(common.id), wire_line(common.wire));
  return out;
}

std::string box_lines(const BoxConfig& box) {
  std::string out = fmt::format("\n[[box]]\nid = {}\nfrom = {}\nmetres = {:.4g}\n", quoted(box.id),
                                quoted(box.from), box.metres);
  if (box.splices != 1) out += fmt::format("splices = {}\n", box.splices);
  if (box.repaired) out += "repaired = true\n";
  if (box.dug) out += "dug = true\n";
  return out;
}

std::string zone_lines(const ZoneConfig& zone, const Config& config, const std::string& note) {
  std::string out =
      fmt::format("\n[[zone]]{}\nnumber = {}\nname = {}\n", note.empty() ? "" : "  # " + one_comment(note),
                  zone.number, quoted(zone.name));
  if (zone.box >= 0)
    out += fmt::format("box = {}\n", quoted(config.boxes[static_cast<std::size_t>(zone.box)].id));
  out += wire_line(zone.wire);
  out += fmt::format("common = {}\n", quoted(config.commons[static_cast<std::size_t>(zone.common)].id));
  if (zone.valves != 1) out += fmt::format("valves = {}\n", zone.valves);
  if (measured(zone.hold_amps))
    out += fmt::format("hold_amps = {:g}  # of one solenoid, as printed\n", zone.hold_amps);
  if (measured(zone.inrush_amps)) out += fmt::format("inrush_amps = {:g}\n", zone.inrush_amps);
  return out;
}

// Only those that were found here: the others are among the tables kept.
std::string new_sensor_lines(const Config& config) {
  std::string out;
  for (const SensorConfig& sensor : config.sensors)
    if (sensor.line == 0)
      out += fmt::format(
          "\n[[sensor]]  # found at commissioning\ntopic = {}\nchannel = {}\ndecoder = {}  # json or "
          "senml where the payload is no plain number\nunit = {}\n",
          quoted(sensor.topic), quoted(sensor.channel), quoted(sensor.decoder), quoted(sensor.unit));
  return out;
}

}  // namespace

Result<std::string> commissioned_text(const Commissioned& site, std::string_view before, UtcTime now) {
  const Config& config = site.config;
  std::string text =
      fmt::format("# {}, written by `coilward commission` {}.\n# Check it with `coilward check-config`.\n\n",
                  one_comment(config.site.name), format_rfc3339(now));
  text += site_lines(config);
  for (const BoxConfig& box : config.boxes) text += box_lines(box);
  for (const ZoneConfig& zone : config.zones) {
    const auto note = site.notes.find(zone.number);
    text += zone_lines(zone, config, note == site.notes.end() ? "" : note->second);
  }
  text += new_sensor_lines(config);
  if (const std::string others = other_tables(before); !others.empty()) text += "\n" + others;
  const auto checked = parse_config(text, "the new configuration");
  if (!checked) return checked.error();
  return text;
}

}  // namespace coilward
