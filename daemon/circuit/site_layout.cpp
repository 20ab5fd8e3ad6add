#include "daemon/circuit/site_layout.h"

#include <algorithm>
#include <cmath>

namespace coilward::circuit {
namespace {

// Side by side in number; none of them conducts as kNoPath.
Impedance of_many(Impedance one, int number) {
  return number > 0 ? one / static_cast<double>(number) : Impedance{kNoPath};
}

}  // namespace

Impedance at_least_contact(Impedance ohms) {
  return std::norm(ohms) < kContactOhms * kContactOhms ? kContactOhms : ohms;
}

const ZoneFault* fault_of(const SiteFaults& faults, int zone) {
  for (const auto& [index, fault] : faults.zones)
    if (index == zone) return &fault;
  return nullptr;
}

Impedance coils_impedance(const ZoneBranch& zone, const ZoneFault& fault) {
  const int left = std::max(zone.valves - fault.valves_lost, 0);
  const int out = std::clamp(fault.plungers_out, 0, left);
  int whole_seated = left - out, whole_out = out;
  Impedance coils{kNoPath};
  if (fault.turns != 1 && left > 0) {  // the damaged one seats if any does
    const bool seated = whole_seated > 0;
    --(seated ? whole_seated : whole_out);
    coils = coil_impedance(zone.coil, {seated, fault.turns, fault.coil_celsius});
  }
  coils = in_parallel(coils, of_many(coil_impedance(zone.coil, {true, 1, fault.coil_celsius}), whole_seated));
  coils = in_parallel(coils, of_many(coil_impedance(zone.coil, {false, 1, fault.coil_celsius}), whole_out));
  return in_parallel(coils, fault.coil_short_ohms);
}

double common_ohms(const SiteLayout& layout, int zone) {
  const ZoneBranch& branch = layout.zones[static_cast<std::size_t>(zone)];
  const CommonTree& tree = layout.commons[static_cast<std::size_t>(branch.common)];
  double ohms = 0;
  for (int node = branch.node; node >= 0; node = tree.parent[static_cast<std::size_t>(node)])
    ohms += tree.ohms[static_cast<std::size_t>(node)];
  return ohms;
}

}  // namespace coilward::circuit
