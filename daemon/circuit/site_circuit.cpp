#include "daemon/circuit/site_circuit.h"

#include <cmath>

#include "daemon/circuit/wire.h"

namespace coilward::circuit {

AloneSolution solve_alone(const SiteLayout& layout, int zone, const ZoneFault& fault,
                          double extra_common_ohms, double source_factor, double copper_celsius) {
  const ZoneBranch& branch = layout.zones[static_cast<std::size_t>(zone)];
  const double copper = resistance_ratio(copper_celsius);
  const double near = copper * branch.wire_ohms * fault.leak_share;  // zone wire up to the leak
  const double added = fault.open ? kNoPath : fault.splice_ohms + extra_common_ohms;
  const double beyond = copper * (branch.wire_ohms + common_ohms(layout, zone)) - near + added;
  const Impedance coils = coils_impedance(branch, fault);
  const bool broken = std::isinf(beyond) || std::isinf(coils.real());
  const Impedance through = broken ? Impedance{kNoPath} : beyond + coils;
  const Impedance load = in_parallel(through, fault.leak_ohms);
  const double volts = layout.source_volts * source_factor;
  if (std::isinf(load.real())) return {0, 0, volts, 0};
  const Phasor amps = volts / at_least_contact(layout.source_ohms + near + load);
  const Phasor coil_amps = broken ? Phasor{}
                           : std::isinf(fault.leak_ohms)
                               ? amps
                               : amps * (fault.leak_ohms / (fault.leak_ohms + through));
  return {amps, coil_amps, volts - amps * layout.source_ohms, broken ? Phasor{} : coil_amps * coils};
}

double zone_amps_alone(const SiteLayout& layout, int zone, const ZoneFault& fault, double extra_common_ohms,
                       double source_factor, double copper_celsius) {
  return std::abs(
      solve_alone(layout, zone, fault, extra_common_ohms, source_factor, copper_celsius).zone_amps);
}

}  // namespace coilward::circuit
