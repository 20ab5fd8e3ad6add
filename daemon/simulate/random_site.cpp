#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

// Square millimetres of a gauge: diameter 0.005 in x 92^((36 - n) / 39) (ASTM B258).
double square_mm_of_awg(int awg) {
  const double inches = 0.005 * std::pow(92.0, (36.0 - awg) / 39.0);
  return 3.14159265358979 / 4 * std::pow(inches * 25.4, 2);
}

ConductorConfig gauge(int awg, bool stranded = false) { return {square_mm_of_awg(awg), awg, stranded}; }

std::string box_id(int index) {
  return index < 26 ? std::string(1, static_cast<char>('A' + index)) : fmt::format("B{}", index + 1);
}

// A chain with some branches, as trenches go.
void draw_boxes(Config& config, int zones, Chance& chance) {
  const int boxes = std::max(1, static_cast<int>(zones / chance.between(1, 4)));
  for (int i = 0; i < boxes; ++i) {
    BoxConfig box;
    box.id = box_id(i);
    box.metres = std::round(chance.scale(5, 70));
    box.parent = i == 0 || chance.happens(0.1) ? -1 : chance.happens(0.7) ? i - 1 : chance.whole(0, i - 1);
    box.from = box.parent < 0 ? "controller" : config.boxes[static_cast<std::size_t>(box.parent)].id;
    config.boxes.push_back(std::move(box));
  }
}

void draw_commons(Config& config, int zones, Chance& chance) {
  config.commons.push_back({"main", gauge(chance.pick<int>({12, 14, 14, 14, 16}), chance.happens(0.15))});
  if (zones > 8 && chance.happens(0.25)) config.commons.push_back({"second", config.commons[0].wire});
}

// The zone as the owner writes it: rated values only sometimes, and never quite those of the coils in the
// ground.
ZoneConfig draw_zone(Config& config, int number, int box, const SolenoidRating& usual, Chance& chance) {
  ZoneConfig zone;
  zone.number = number;
  zone.name = fmt::format("Zone {}", number);
  zone.box = box;
  zone.wire = gauge(chance.pick<int>({18, 18, 18, 20, 16, 14}));
  zone.common = static_cast<int>(config.commons.size()) > 1 && number % 3 == 0 ? 1 : 0;
  zone.valves = chance.happens(0.12) ? chance.whole(2, 3) : 1;
  zone.hold_amps = usual.hold_amps;
  zone.inrush_amps = usual.inrush_amps;
  return zone;
}

}  // namespace

Config random_config(std::uint64_t seed, const RandomOptions& options) {
  Chance chance(seed, "random site");
  Config config;
  config.file = fmt::format("random site {}", seed);
  config.site.id = fmt::format("site-{}", seed);
  config.site.name = fmt::format("Random site {}", seed);
  config.site.timezone = chance.pick<std::string>(
      {"America/Boise", "America/New_York", "Europe/Berlin", "Australia/Perth", "UTC", "America/Sao_Paulo"});
  config.supply.hertz = chance.happens(0.65) ? 60 : 50;
  config.supply.volts = chance.happens(0.8) ? 24 : chance.pick<double>({25, 26, 26.5});
  config.supply.volt_amps = chance.pick<double>({20, 30, 40, 40, 60, 75, 100});
  const int zones = static_cast<int>(std::lround(chance.scale(options.least_zones, options.most_zones)));
  draw_boxes(config, zones, chance);
  draw_commons(config, zones, chance);
  SolenoidRating usual;
  usual.hold_amps = std::round(chance.between(0.15, 0.5) * 1000) / 1000;
  usual.inrush_amps = std::round(usual.hold_amps * chance.between(1.3, 2.2) * 1000) / 1000;
  const auto boxes = static_cast<int>(config.boxes.size());
  for (int i = 0; i < zones; ++i) {
    const int box = std::min(boxes - 1, static_cast<int>(i * boxes / zones + chance.whole(0, 1)));
    config.zones.push_back(draw_zone(config, i + 1, box, usual, chance));
  }
  config.master.present = chance.happens(0.25);
  config.master.output = draw_zone(config, kMasterZone, 0, usual, chance);
  config.master.output.common = 0;
  config.master.output.valves = 1;
  return config;
}

Channels random_channels(std::uint64_t seed) {
  Chance chance(seed, "channels");
  return {chance.happens(0.7), chance.happens(0.5), chance.happens(0.2), chance.happens(0.35),
          chance.happens(0.2), chance.happens(0.3), chance.happens(0.8)};
}

}  // namespace coilward::simulate
