// For tests: sites made from a seed, healthy or with a handful of faults, and the outputs that are on.
#pragma once

#include <algorithm>
#include <random>
#include <vector>

#include "daemon/circuit/site_circuit.h"
#include "daemon/circuit/supply.h"
#include "daemon/circuit/wire.h"

namespace coilward::circuit {

class RandomSite {
 public:
  explicit RandomSite(unsigned seed) : random_(seed) {
    const double volt_amps = real(20, 100), ohms = source_ohms_from_rating(24, volt_amps, real(0.08, 0.2));
    layout.source_volts = open_circuit_volts(24, volt_amps, ohms);
    layout.source_ohms = {ohms, real(0, 0.5)};
    const int commons = whole(1, 2), zones = whole(1, 10);
    for (int i = 0; i < commons; ++i) layout.commons.push_back(common());
    for (int i = 0; i < zones; ++i) layout.zones.push_back(zone());
    for (int i = 0; i < zones; ++i)
      if (chance(0.6)) on.push_back(i);
    if (on.empty()) on.push_back(whole(0, zones - 1));
    faults.copper_celsius = real(-5, 45);
  }

  void add_faults() {
    faults.source_factor = real(0.8, 1.1);
    for (int i = 0; i < zones(); ++i)
      if (chance(0.5))
        faults.zones.emplace_back(i, zone_fault(layout.zones[static_cast<std::size_t>(i)].valves));
    for (int i = whole(0, 2); i > 0; --i) faults.commons.push_back(common_fault());
  }
  void add_leaks() {
    for (auto& [zone, fault] : faults.zones)
      if (chance(0.4)) fault.leak_ohms = real(20, 2000), fault.leak_share = real(0, 1);
  }
  void add_crossings() {
    for (int i = whole(1, 2); i > 0 && zones() > 1; --i) {
      const int a = whole(0, zones() - 1), b = (a + whole(1, zones() - 1)) % zones();
      faults.crossings.push_back({a, b, real(0, 5), real(0, 1), real(0, 1)});
    }
  }

  int zones() const { return static_cast<int>(layout.zones.size()); }
  double real(double low, double high) { return std::uniform_real_distribution(low, high)(random_); }
  int whole(int low, int high) { return std::uniform_int_distribution(low, high)(random_); }
  bool chance(double share) { return real(0, 1) < share; }

  SiteLayout layout;
  SiteFaults faults;
  std::vector<int> on;

 private:
  double stretch(int awg) { return real(5, 120) * ohms_per_metre(awg_square_mm(awg)); }

  CommonTree common() {
    CommonTree tree{{-1}, {chance(0.7) ? 0 : real(0.01, 0.2)}};
    for (int node = 1, nodes = whole(2, 8); node < nodes; ++node) {
      tree.parent.push_back(chance(0.6) ? node - 1 : whole(0, node - 1));
      tree.ohms.push_back(stretch(whole(12, 16)));
    }
    return tree;
  }

  ZoneBranch zone() {
    ZoneBranch branch;
    branch.common = whole(0, static_cast<int>(layout.commons.size()) - 1);
    const auto& tree = layout.commons[static_cast<std::size_t>(branch.common)];
    branch.node = whole(0, static_cast<int>(tree.parent.size()) - 1);
    branch.wire_ohms = stretch(18) + stretch(18);
    const double hold = real(0.18, 0.32);
    branch.coil = coil_from_rating({24, hold, hold * real(1.3, 2), real(20, 60)});
    branch.valves = chance(0.7) ? 1 : whole(2, 4);
    return branch;
  }

  ZoneFault zone_fault(int valves) {
    ZoneFault fault;
    fault.coil_celsius = real(0, 80);
    if (chance(0.3)) fault.splice_ohms = real(0, 100);
    if (chance(0.1)) fault.open = true;
    if (chance(0.2)) fault.coil_short_ohms = real(0.1, 30);
    if (chance(0.2)) fault.turns = real(0.3, 1);
    if (chance(0.3)) fault.valves_lost = whole(0, valves);
    if (chance(0.3)) fault.plungers_out = whole(0, valves);
    return fault;
  }

  CommonFault common_fault() {
    const int common = whole(0, static_cast<int>(layout.commons.size()) - 1);
    const auto& tree = layout.commons[static_cast<std::size_t>(common)];
    return {common, whole(1, static_cast<int>(tree.parent.size()) - 1), chance(0.4) ? kNoPath : real(1, 60)};
  }

  std::mt19937 random_;
};

}  // namespace coilward::circuit
