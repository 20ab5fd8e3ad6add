// For tests: a site written out as a SPICE netlist, element by element, without any of the shortcuts of the
// model under test: each solenoid by itself, each stretch of wire, every output with its own switch.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "daemon/circuit/site_circuit.h"
#include "daemon/circuit/wire.h"

namespace coilward::circuit {

inline constexpr double kDeckHertz = 60;
inline constexpr double kDeckOpen = 1e12;  // ohms: SPICE has no infinity

class SiteDeck {
 public:
  // Names get `prefix`, so that many sites fit one deck.
  SiteDeck(std::string prefix, const SiteLayout& layout, const std::vector<int>& on, const SiteFaults& faults)
      : prefix_(std::move(prefix)),
        layout_(layout),
        faults_(faults),
        copper_(resistance_ratio(faults.copper_celsius)) {
    text = fmt::format("V{0} src{0} 0 AC {1:.15g}\n", prefix_, layout.source_volts * faults.source_factor);
    series("s", "src" + prefix_, "hot" + prefix_, layout.source_ohms);
    for (int common = 0; common < static_cast<int>(layout.commons.size()); ++common) add_common(common);
    for (int zone = 0; zone < static_cast<int>(layout.zones.size()); ++zone)
      add_zone(zone, std::ranges::find(on, zone) != on.end());
    for (std::size_t i = 0; i < faults.crossings.size(); ++i) add_crossing(static_cast<int>(i));
  }

  std::string text;
  // Prints the amps of every output, of every common and of earth, in that order, then the volts of the
  // source.
  std::string prints() const {
    std::string out;
    for (std::size_t zone = 0; zone < layout_.zones.size(); ++zone)
      out += fmt::format("print i(vz{}_{})\n", prefix_, zone);
    for (std::size_t i = 0; i < layout_.commons.size(); ++i)
      out += fmt::format("print i(vc{}_{})\n", prefix_, i);
    return out + fmt::format("print i(ve{0})\nprint v(hot{0})\n", prefix_);
  }

 private:
  std::string unique(const std::string& kind) { return fmt::format("{}{}_{}", kind, prefix_, ++elements_); }
  std::string node(const std::string& name, int a, int b = 0) const {
    return fmt::format("{}{}_{}_{}", name, prefix_, a, b);
  }

  void resistor(const std::string& a, const std::string& b, double ohms) {
    if (ohms == 0) return meter(unique("vj"), a, b);
    text += fmt::format("{} {} {} {:.15g}\n", unique("R"), a, b, std::isinf(ohms) ? kDeckOpen : ohms);
  }
  void series(const std::string& name, const std::string& a, const std::string& b, Impedance ohms) {
    const std::string middle = unique(name);
    resistor(a, middle, ohms.real());
    text += fmt::format("{} {} {} {:.15g}\n", unique("L"), middle, b,
                        ohms.imag() / (2 * std::numbers::pi * kDeckHertz));
  }
  void meter(const std::string& name, const std::string& a, const std::string& b) {
    text += fmt::format("{} {} {} 0\n", name, a, b);
  }

  double added(int common, int segment) const {
    double ohms = 0;
    for (const CommonFault& fault : faults_.commons)
      if (fault.common == common && fault.segment == segment) ohms += fault.ohms;
    return ohms;
  }
  void add_common(int common) {
    const CommonTree& tree = layout_.commons[static_cast<std::size_t>(common)];
    const std::string terminal = node("t", common);
    meter(fmt::format("vc{}_{}", prefix_, common), terminal, "0");
    for (std::size_t i = 0; i < tree.parent.size(); ++i)
      resistor(node("c", common, static_cast<int>(i)), i == 0 ? terminal : node("c", common, tree.parent[i]),
               copper_ * tree.ohms[i] + added(common, static_cast<int>(i)));
  }

  // What is joined to a zone's wire, and how far along.
  std::vector<std::pair<double, std::string>> taps(int zone) const {
    std::vector<std::pair<double, std::string>> found;
    if (const ZoneFault* fault = fault_of(faults_, zone); fault && !std::isinf(fault->leak_ohms))
      found.emplace_back(fault->leak_share, node("k", zone));
    for (std::size_t i = 0; i < faults_.crossings.size(); ++i) {
      const Crossing& c = faults_.crossings[i];
      if (c.zone_a == zone) found.emplace_back(c.share_a, node("xa", static_cast<int>(i)));
      if (c.zone_b == zone) found.emplace_back(c.share_b, node("xb", static_cast<int>(i)));
    }
    std::ranges::sort(found);
    return found;
  }

  void add_zone(int zone, bool on) {
    const ZoneBranch& branch = layout_.zones[static_cast<std::size_t>(zone)];
    const ZoneFault* listed = fault_of(faults_, zone);
    const ZoneFault fault = listed ? *listed : ZoneFault{};
    std::string here = node("z", zone);
    meter(fmt::format("vz{}_{}", prefix_, zone), node("o", zone), here);
    if (on) meter(unique("vs"), "hot" + prefix_, node("o", zone));
    if (!on) resistor("hot" + prefix_, node("o", zone), kDeckOpen);
    double done = 0;
    for (const auto& [share, name] : taps(zone)) {
      resistor(here, name, copper_ * branch.wire_ohms * (share - done));
      here = name, done = share;
    }
    resistor(here, node("b", zone), copper_ * branch.wire_ohms * (1 - done));
    resistor(node("b", zone), node("v", zone), fault.open ? kNoPath : fault.splice_ohms);
    const std::string common = node("c", branch.common, branch.node);
    add_coils(branch, fault, node("v", zone), common);
    resistor(node("v", zone), common, fault.coil_short_ohms);
    if (!std::isinf(fault.leak_ohms)) resistor(node("k", zone), "e" + prefix_, fault.leak_ohms);
  }

  void add_coils(const ZoneBranch& branch, const ZoneFault& fault, const std::string& a,
                 const std::string& b) {
    const int left = branch.valves - fault.valves_lost;
    for (int i = 0; i < left; ++i) {
      const bool seated = i < left - fault.plungers_out;
      const double turns = i == 0 ? fault.turns : 1;
      const double reactance = seated ? branch.coil.reactance_seated : branch.coil.reactance_open;
      series("m", a, b,
             {branch.coil.ohms20 * turns * resistance_ratio(fault.coil_celsius), reactance * turns * turns});
    }
  }

  void add_crossing(int index) {
    resistor(node("xa", index), node("xb", index), faults_.crossings[static_cast<std::size_t>(index)].ohms);
  }

  std::string prefix_;
  const SiteLayout& layout_;
  const SiteFaults& faults_;
  double copper_;
  int elements_ = 0;

 public:
  // The earth's own meter, and a path to the reference for parts that hang in the air.
  std::string earth() const { return fmt::format("ve{0} e{0} 0 0\nre{0} e{0} 0 1\n", prefix_); }
};

}  // namespace coilward::circuit
