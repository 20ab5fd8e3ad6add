#include "daemon/simulate/site_plan.h"

namespace coilward::simulate {
namespace {

// Rated values when the file does not say: the trade's range for 24 V valve coils (common practice), drawn
// wide.
SolenoidRating drawn_rating(const Config& config, Chance& chance) {
  SolenoidRating rating;
  rating.volts = config.supply.volts;
  rating.hertz = config.supply.hertz;
  rating.hold_amps = chance.between(0.16, 0.42);
  rating.inrush_amps = rating.hold_amps * chance.between(1.35, 2.1);
  return rating;
}

// Coils of one make differ by a few per cent from their rating, and less among themselves.
SolenoidRating rating_of(const ZoneConfig& zone, SolenoidRating usual, Chance& chance) {
  if (measured(zone.hold_amps)) {
    usual.inrush_amps *= zone.hold_amps / usual.hold_amps;
    usual.hold_amps = zone.hold_amps * chance.about_one(0.03);
  }
  if (measured(zone.inrush_amps)) usual.inrush_amps = zone.inrush_amps * chance.about_one(0.03);
  return usual;
}

TrueZone draw_zone(const ZoneConfig& zone, const SolenoidRating& usual, Chance chance) {
  TrueZone it;
  it.number = zone.number;
  it.box = zone.box;
  it.common = zone.common;
  it.square_mm = zone.wire.square_mm > 0 ? zone.wire.square_mm : 0.823;
  it.stranded = zone.wire.stranded;
  it.own_metres = zone.box < 0 ? chance.between(15, 90) : chance.between(0.5, 3);
  it.output_ohms = chance.between(0.05, 0.3);
  const SolenoidRating rating = rating_of(zone, usual, chance);
  for (int i = 0; i < zone.valves; ++i) {
    SolenoidRating own = rating;
    const double size = chance.about_one(0.015);
    own.hold_amps *= size;
    own.inrush_amps *= size * chance.about_one(0.01);
    it.valves.push_back(make_solenoid(own, chance));
  }
  return it;
}

}  // namespace

double ohms_per_metre(double square_mm, bool stranded, double celsius) {
  return (stranded ? 1.02 : 1.0) / 58 / square_mm * (1 + kCopperPerKelvin * (celsius - 20));
}

TrueSite draw_true_site(const Config& config, std::uint64_t seed) {
  Chance chance(seed, "true site");
  TrueSite site;
  for (const BoxConfig& box : config.boxes) {
    site.box_metres.push_back(box.metres * chance.about_one(0.05));
    site.splice_ohms.push_back(chance.scale(0.003, 0.06));
  }
  const SolenoidRating usual = drawn_rating(config, chance);
  for (const ZoneConfig& zone : config.zones)
    site.zones.push_back(draw_zone(zone, usual, Chance(seed, "zone", zone.number)));
  site.has_master = config.master.present;
  if (site.has_master) site.master = draw_zone(config.master.output, usual, Chance(seed, "master"));
  site.master.number = kMasterZone;
  const double rated_load_amps = config.supply.volt_amps / config.supply.volts;
  const double regulation = chance.between(0.05, 0.13);  // volts lost at rated load, of rated volts
  site.source_ohms = measured(config.supply.source_ohms) && config.supply.source_ohms > 0
                         ? config.supply.source_ohms * chance.about_one(0.1)
                         : regulation * config.supply.volts / rated_load_amps;
  site.open_volts = config.supply.volts * (1 + regulation) * chance.between(0.97, 1.05);
  return site;
}

const TrueZone* find_zone(const TrueSite& site, int number) {
  if (number == kMasterZone) return site.has_master ? &site.master : nullptr;
  for (const TrueZone& zone : site.zones)
    if (zone.number == number) return &zone;
  return nullptr;
}

}  // namespace coilward::simulate
