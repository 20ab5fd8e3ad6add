#include "daemon/locate/ladder.h"

#include <algorithm>
#include <cmath>

#include "daemon/circuit/supply.h"
#include "daemon/circuit/wire.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {
namespace {

using circuit::Impedance;

double per_metre(const ConductorConfig& wire) {
  const auto strands = wire.stranded ? circuit::Strands::seven : circuit::Strands::solid;
  return circuit::ohms_per_metre(wire.square_mm, 20, strands);
}

Impedance coils_now(const Ladder& ladder, const Condition& c) {
  if (c.defect == Defect::coil_ohms) return c.ohms * ladder.coils / std::abs(ladder.coils);
  if (c.defect == Defect::plunger_out) return ladder.coils_out;
  if (c.defect == Defect::branch_open && ladder.valves > 1)
    return ladder.coils * (static_cast<double>(ladder.valves) / (ladder.valves - 1));
  return ladder.coils;
}

double dc_now(const Ladder& ladder, const Condition& c) {
  const double healthy = ladder.dc_ohms * c.coil_factor;
  if (c.defect == Defect::coil_ohms) return healthy * std::min(1.0, c.ohms / std::abs(ladder.coils));
  if (c.defect == Defect::branch_open && ladder.valves > 1)
    return healthy * ladder.valves / (ladder.valves - 1);
  return healthy;
}

// How far along the loop a spot lies: stops passed, and the share of the segment after them.
double loop_to(const Ladder& ladder, int spot) {
  const int stop = std::clamp(spot / 3, 0, ladder.last());
  const bool in_segment = spot % 3 == 0 && spot > 0 && spot <= 3 * ladder.last();
  if (!in_segment) return ladder.loop_ohms(0, stop);
  return 0.5 * (ladder.loop_ohms(0, stop - 1) + ladder.loop_ohms(0, stop));
}

double volts_past_shunt(const Ladder& ladder, int stop, const Condition& c, double volts) {
  const double all = ladder.loop_ohms(0, ladder.last()), here = ladder.loop_ohms(0, stop);
  const double there = loop_to(ladder, c.spot);
  const Impedance coils = coils_now(ladder, c);
  const Impedance rest = circuit::in_parallel(c.ohms, all - there + coils);
  if (c.spot > volts_spot(stop)) {
    const Impedance beyond = there - here + rest;
    return std::abs(volts * beyond / (ladder.source_ohms + here + beyond));
  }
  const Impedance at_shunt = volts * rest / (ladder.source_ohms + there + rest);
  return std::abs(at_shunt * (all - here + coils) / (all - there + coils));
}

}  // namespace

Ladder ladder_of(const Config& config, const WirePath& path, double hold_amps) {
  Ladder ladder;
  ladder.source_ohms = source_ohms(config.supply);
  ladder.volts =
      circuit::open_circuit_volts(config.supply.volts, config.supply.volt_amps, ladder.source_ohms);
  const SiteElectrics site = site_electrics(config);
  const int index = site.index_of(path.zone);
  ZoneElectrics zone = index < 0 ? ZoneElectrics{} : site.zones[static_cast<std::size_t>(index)];
  if (index >= 0 && measured(hold_amps) && hold_amps > 0.02)
    zone = fitted(zone, config.supply.volts, hold_amps, kNotMeasured);
  ladder.valves = zone.valves;
  ladder.coils = {zone.coil_ohms, zone.seated_ohms};
  ladder.coils_out = {zone.coil_ohms, zone.open_ohms};
  ladder.dc_ohms = zone.coil_ohms;
  const ZoneConfig* wire = config.zone(path.zone);
  double ohms_per_metre = 0;
  if (wire) {
    const auto& common = config.commons[static_cast<std::size_t>(wire->common)].wire;
    ohms_per_metre = per_metre(wire->wire) + per_metre(common);
  }
  for (const Stop& stop : path.stops) ladder.loop.push_back(stop.from_controller * ohms_per_metre);
  return ladder;
}

double volts_on_at(const Ladder& ladder, int stop, const Condition& c) {
  const double volts = ladder.volts * c.supply_factor;
  const bool before = c.spot <= volts_spot(stop);
  if (c.defect == Defect::open) return before ? 0 : volts;
  if (c.defect == Defect::shunt_ohms) return volts_past_shunt(ladder, stop, c, volts);
  if (c.defect == Defect::branch_open && stop == ladder.last() && before) return 0;
  const double added = c.defect == Defect::series_ohms ? c.ohms : 0;
  const double near = ladder.source_ohms + ladder.loop_ohms(0, stop) + (before ? added : 0);
  const Impedance far = ladder.loop_ohms(stop, ladder.last()) + coils_now(ladder, c) + (before ? 0 : added);
  return std::abs(volts * far / (near + far));
}

double ohms_toward_valve(const Ladder& ladder, int stop, const Condition& c) {
  const bool beyond = c.spot > splice_spot(stop);
  const double coil = dc_now(ladder, c), wires = ladder.loop_ohms(stop, ladder.last());
  if (!beyond) return wires + coil;
  if (c.defect == Defect::open) return kOpenOhms;
  if (c.defect == Defect::series_ohms) return wires + coil + c.ohms;
  if (c.defect == Defect::crossed) return wires + coil / 2;
  if (c.defect != Defect::shunt_ohms) return wires + coil;
  const double there = loop_to(ladder, c.spot) - ladder.loop_ohms(0, stop), rest = wires - there + coil;
  return there + c.ohms * rest / (c.ohms + rest);
}

double ohms_toward_controller(const Ladder& ladder, int stop, const Condition& c) {
  const bool before = c.spot < volts_spot(stop);
  if (!before || (c.defect != Defect::shunt_ohms && c.defect != Defect::earth_ohms)) return kOpenOhms;
  return ladder.loop_ohms(0, stop) - loop_to(ladder, c.spot) + c.ohms;
}

double amps_of(const Ladder& ladder, const Condition& c) {
  const double volts = ladder.volts * c.supply_factor;
  if (c.defect == Defect::open) return 0;
  const double loop = ladder.loop_ohms(0, ladder.last());
  const Impedance coils = coils_now(ladder, c);
  if (c.defect == Defect::shunt_ohms) {
    const double there = loop_to(ladder, c.spot);
    return std::abs(volts /
                    (ladder.source_ohms + there + circuit::in_parallel(c.ohms, loop - there + coils)));
  }
  return std::abs(volts /
                  (ladder.source_ohms + loop + coils + (c.defect == Defect::series_ohms ? c.ohms : 0)));
}

// |Z + R| = |Z| / ratio, solved for R.
double series_ohms_for(const Ladder& ladder, double ratio) {
  if (!(ratio > 0) || ratio >= 1) return 0;
  const Impedance z = ladder.source_ohms + ladder.loop_ohms(0, ladder.last()) + ladder.coils;
  const double wanted = std::norm(z) / (ratio * ratio) - z.imag() * z.imag();
  return std::max(0.0, std::sqrt(std::max(wanted, 0.0)) - z.real());
}

}  // namespace coilward
