#include "daemon/draw/zone_electrics.h"

#include <algorithm>
#include <cmath>

#include "daemon/circuit/coil.h"
#include "daemon/circuit/supply.h"
#include "daemon/circuit/wire.h"

namespace coilward {
namespace {

// Printed values are rounded and coils differ; where nothing is printed, inrush is 1.3 to 2.2 times holding;
// seen at switch-on, it depends a little on how the sensor samples. Common practice.
constexpr double kRatedInrushSd = 0.08, kTypicalInrushSd = 0.18, kSeenInrushSd = 0.04;

double ohms_per_metre(const ConductorConfig& wire) {
  return circuit::ohms_per_metre(wire.square_mm, 20,
                                 wire.stranded ? circuit::Strands::seven : circuit::Strands::solid);
}

double metres_to(const Config& config, int box) {
  double metres = 0;
  for (; box >= 0; box = config.boxes[static_cast<std::size_t>(box)].parent)
    metres += config.boxes[static_cast<std::size_t>(box)].metres;
  return metres;
}

bool at_or_beyond(const Config& config, int box, int far_end) {
  for (; box >= 0; box = config.boxes[static_cast<std::size_t>(box)].parent)
    if (box == far_end) return true;
  return false;
}

double reactance(double impedance, double resistance) {
  return std::sqrt(std::max(impedance * impedance - resistance * resistance, 0.01 * impedance * impedance));
}

// Rated values are of one solenoid on its own at rated volts: no wire, stiff source.
void set_coils(ZoneElectrics& out, const ZoneConfig& zone, double volts) {
  const auto coil = circuit::coil_from_rating({volts, zone.hold_amps, zone.inrush_amps, kNotMeasured});
  out.rated = measured(zone.hold_amps);
  out.inrush_sd = measured(zone.inrush_amps) ? kRatedInrushSd : kTypicalInrushSd;
  out.coil_ohms = coil.ohms20 / zone.valves;
  out.seated_ohms = coil.reactance_seated / zone.valves;
  out.open_ohms = coil.reactance_open / zone.valves;
}

ZoneElectrics zone_electrics(const Config& config, const ZoneConfig& zone) {
  ZoneElectrics out;
  out.zone = zone.number;
  out.common = zone.common;
  out.box = zone.box;
  out.valves = zone.valves;
  const double metres = metres_to(config, zone.box);
  out.wire_ohms = metres * ohms_per_metre(zone.wire);
  out.common_ohms = metres * ohms_per_metre(config.commons[static_cast<std::size_t>(zone.common)].wire);
  set_coils(out, zone, config.supply.volts);
  return out;
}

// Every stretch of one common with outputs behind it, the whole common first.
void add_segments(const Config& config, int common, SiteElectrics& site) {
  CommonSegment whole{common, -1, {}};
  for (std::size_t i = 0; i < site.zones.size(); ++i)
    if (site.zones[i].common == common) whole.zones.push_back(static_cast<int>(i));
  bool covered = whole.zones.empty();
  std::vector<CommonSegment> stretches;
  for (int box = 0; box < static_cast<int>(config.boxes.size()); ++box) {
    CommonSegment stretch{common, box, {}};
    for (int i : whole.zones)
      if (at_or_beyond(config, site.zones[static_cast<std::size_t>(i)].box, box)) stretch.zones.push_back(i);
    covered = covered || stretch.zones == whole.zones;
    if (!stretch.zones.empty()) stretches.push_back(std::move(stretch));
  }
  if (!covered) site.segments.push_back(std::move(whole));
  site.segments.insert(site.segments.end(), stretches.begin(), stretches.end());
}

}  // namespace

double source_ohms(const SupplyConfig& supply) {
  if (measured(supply.source_ohms)) return supply.source_ohms;
  return circuit::source_ohms_from_rating(supply.volts, supply.volt_amps);
}

int SiteElectrics::index_of(int zone) const {
  for (std::size_t i = 0; i < zones.size(); ++i)
    if (zones[i].zone == zone) return static_cast<int>(i);
  return -1;
}

SiteElectrics site_electrics(const Config& config) {
  SiteElectrics site;
  site.rated_volts = config.supply.volts;
  site.source_ohms = source_ohms(config.supply);
  for (const auto& zone : config.zones) site.zones.push_back(zone_electrics(config, zone));
  if (config.master.present) {
    site.zones.push_back(zone_electrics(config, config.master.output));
    site.zones.back().zone = kMasterZone;
  }
  for (int common = 0; common < static_cast<int>(config.commons.size()); ++common)
    add_segments(config, common, site);
  return site;
}

ZoneElectrics fitted(ZoneElectrics zone, double volts, double hold_amps, double inrush_amps) {
  const double share = zone.coil_ohms / std::abs(std::complex<double>(zone.coil_ohms, zone.seated_ohms));
  const double ratio = zone.open_ohms / zone.seated_ohms;
  const double total = volts / hold_amps;
  // |copper + share z + j sqrt(1 - share^2) z| = total, solved for the coils' impedance z.
  const double a = zone.copper_ohms() * share;
  const double z = -a + std::sqrt(std::max(a * a + total * total - zone.copper_ohms() * zone.copper_ohms(),
                                           0.01 * total * total));
  zone.coil_ohms = share * z;
  zone.seated_ohms = std::sqrt(1 - share * share) * z;
  zone.open_ohms = ratio * zone.seated_ohms;
  if (measured(inrush_amps)) zone.inrush_sd = kSeenInrushSd;
  if (measured(inrush_amps) && inrush_amps > 1.02 * hold_amps)
    zone.open_ohms = reactance(volts / inrush_amps,
                               std::min(zone.copper_ohms() + zone.coil_ohms, 0.97 * volts / inrush_amps));
  return zone;
}

}  // namespace coilward
