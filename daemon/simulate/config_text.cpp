#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

std::string wire_line(const ConductorConfig& wire) {
  std::string out =
      wire.awg > 0 ? fmt::format("awg = {}\n", wire.awg) : fmt::format("square_mm = {}\n", wire.square_mm);
  if (wire.stranded) out += "stranded = true\n";
  return out;
}

std::string output_lines(const ZoneConfig& zone, const Config& config) {
  std::string out;
  if (zone.box >= 0)
    out += fmt::format("box = \"{}\"\n", config.boxes[static_cast<std::size_t>(zone.box)].id);
  out += wire_line(zone.wire);
  out += fmt::format("common = \"{}\"\n", config.commons[static_cast<std::size_t>(zone.common)].id);
  if (zone.valves != 1) out += fmt::format("valves = {}\n", zone.valves);
  if (measured(zone.hold_amps)) out += fmt::format("hold_amps = {:.3f}\n", zone.hold_amps);
  if (measured(zone.inrush_amps)) out += fmt::format("inrush_amps = {:.3f}\n", zone.inrush_amps);
  return out;
}

std::string sensor_lines(const SensorConfig& sensor) {
  std::string out = fmt::format("\n[[sensor]]\ntopic = \"{}\"\nchannel = \"{}\"\ndecoder = \"{}\"\n",
                                sensor.topic, sensor.channel, sensor.decoder);
  if (!sensor.unit.empty()) out += fmt::format("unit = \"{}\"\n", sensor.unit);
  for (const auto& [key, value] : sensor.settings.items()) out += fmt::format("{} = {}\n", key, value.dump());
  return out;
}

}  // namespace

std::string config_text(const Config& config) {
  std::string out = fmt::format("[site]\nid = \"{}\"\nname = \"{}\"\ntimezone = \"{}\"\n", config.site.id,
                                config.site.name, config.site.timezone);
  out += fmt::format("\n[mqtt]\nurl = \"{}\"\n", config.mqtt.url);
  out += fmt::format("\n[supply]\nvolts = {:.1f}\nhertz = {:.0f}\nvolt_amps = {:.0f}\n", config.supply.volts,
                     config.supply.hertz, config.supply.volt_amps);
  for (const CommonConfig& common : config.commons)
    out += fmt::format("\n[[common]]\nid = \"{}\"\n{}", common.id, wire_line(common.wire));
  for (const BoxConfig& box : config.boxes)
    out += fmt::format("\n[[box]]\nid = \"{}\"\nfrom = \"{}\"\nmetres = {}\n", box.id, box.from, box.metres);
  if (config.master.present) out += "\n[master]\n" + output_lines(config.master.output, config);
  for (const ZoneConfig& zone : config.zones)
    out += fmt::format("\n[[zone]]\nnumber = {}\nname = \"{}\"\n{}", zone.number, zone.name,
                       output_lines(zone, config));
  for (const SensorConfig& sensor : config.sensors) out += sensor_lines(sensor);
  return out;
}

}  // namespace coilward::simulate
