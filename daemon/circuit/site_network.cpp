// The whole site as a network: outputs that are on, wires that touch or leak, and the commons behind them.
#include <algorithm>
#include <cmath>

#include "daemon/circuit/network.h"
#include "daemon/circuit/site_circuit.h"
#include "daemon/circuit/wire.h"

namespace coilward::circuit {
namespace {

constexpr int kNone = -1;

// Something joined to a zone wire between controller and box.
struct Tap {
  double share;
  Node node;
};

class SiteNetwork {
 public:
  SiteNetwork(const SiteLayout& layout, std::span<const int> on, const SiteFaults& faults)
      : layout_(layout), faults_(faults), copper_(resistance_ratio(faults.copper_celsius)) {
    output_ = network_.add_node();
    network_.add_source(kReference, output_, layout.source_volts * faults.source_factor, layout.source_ohms);
    wires_.resize(layout.zones.size());
    for (const auto& tree : layout.commons) common_nodes_.emplace_back(tree.parent.size(), kNone);
    for (int zone : on) wires_[slot(zone)].on = true;
    add_leaks();
    add_crossings();
    for (int zone = 0; zone < static_cast<int>(wires_.size()); ++zone) add_zone(zone);
  }

  Solution solve() const {
    Solution out = nothing_known();
    if (const auto found = network_.solve()) read(*found, out);
    return out;
  }

 private:
  struct Wire {
    bool on = false;
    std::vector<Tap> taps;
    Branch first = kNone;  // the stretch at the output, when that is on
    Branch coils = kNone;  // the stretch with splice and coils
    Impedance coil_ohms;
  };

  Branch join(Node a, Node b, Impedance ohms) { return network_.add_impedance(a, b, at_least_contact(ohms)); }

  Node tap(int zone, double share) {
    const Node node = network_.add_node();
    wires_[slot(zone)].taps.push_back({share, node});
    return node;
  }

  void add_leaks() {
    for (const auto& [zone, fault] : faults_.zones)
      if (!std::isinf(fault.leak_ohms))
        leaks_.push_back(join(tap(zone, fault.leak_share), kReference, fault.leak_ohms));
  }

  void add_crossings() {
    for (const Crossing& c : faults_.crossings)
      if (!std::isinf(c.ohms)) join(tap(c.zone_a, c.share_a), tap(c.zone_b, c.share_b), c.ohms);
  }

  // Along the zone wire from tap to tap, then through the coils. An output that is off starts at its first
  // tap; without one it carries nothing.
  void add_zone(int zone) {
    Wire& wire = wires_[slot(zone)];
    const double ohms = copper_ * layout_.zones[slot(zone)].wire_ohms;
    std::ranges::sort(wire.taps, {}, &Tap::share);
    Node here = wire.on ? output_ : kNone;
    double done = 0;
    for (const Tap& tap : wire.taps) {
      if (here != kNone) set_first(wire, join(here, tap.node, ohms * (tap.share - done)));
      here = tap.node;
      done = tap.share;
    }
    if (here != kNone) add_coils(zone, here, ohms * (1 - done));
  }

  void add_coils(int zone, Node from, double wire_ohms) {
    static const ZoneFault healthy;
    const ZoneFault* listed = fault_of(faults_, zone);
    const ZoneFault& fault = listed ? *listed : healthy;
    const ZoneBranch& branch = layout_.zones[slot(zone)];
    Wire& wire = wires_[slot(zone)];
    wire.coil_ohms = coils_impedance(branch, fault);
    const Impedance ohms = wire.coil_ohms + wire_ohms + fault.splice_ohms;
    if (fault.open || std::isinf(ohms.real())) return;
    wire.coils = join(from, common_node(branch.common, branch.node), ohms);
    set_first(wire, wire.coils);
  }

  static void set_first(Wire& wire, Branch branch) {
    if (wire.on && wire.first == kNone) wire.first = branch;
  }

  double segment_ohms(int common, int segment) const {
    double ohms = copper_ * layout_.commons[slot(common)].ohms[slot(segment)];
    for (const CommonFault& fault : faults_.commons)
      if (fault.common == common && fault.segment == segment) ohms += fault.ohms;
    return ohms;
  }

  // Made when first asked for, with the path from there to the source. Beyond a break it is left in the air.
  Node common_node(int common, int node) {
    if (node < 0) return kReference;
    if (const Node made = common_nodes_[slot(common)][slot(node)]; made != kNone) return made;
    const double ohms = segment_ohms(common, node);
    const Node parent =
        std::isinf(ohms) ? kNone : common_node(common, layout_.commons[slot(common)].parent[slot(node)]);
    Node made = parent;
    if (ohms != 0) made = network_.add_node();
    if (ohms != 0 && parent != kNone) join(made, parent, ohms);
    return common_nodes_[slot(common)][slot(node)] = made;
  }

  Solution nothing_known() const {
    const Phasor unknown{std::nan(""), std::nan("")};
    const std::vector<Phasor> zones(wires_.size(), unknown);
    return {zones, zones, zones, std::vector<Phasor>(common_nodes_.size(), unknown), unknown, unknown};
  }

  void read(const NetworkSolution& found, Solution& out) const {
    const auto amps = [&](Branch branch) { return branch == kNone ? Phasor{} : found.amps[slot(branch)]; };
    std::ranges::fill(out.common_amps, Phasor{});
    for (std::size_t zone = 0; zone < wires_.size(); ++zone) {
      const Wire& wire = wires_[zone];
      out.zone_amps[zone] = amps(wire.first);
      out.coil_amps[zone] = amps(wire.coils);
      out.coil_volts[zone] = wire.coils == kNone ? Phasor{} : amps(wire.coils) * wire.coil_ohms;
      // What enters a common leaves it at the controller, or cannot flow.
      out.common_amps[slot(layout_.zones[zone].common)] += amps(wire.coils);
    }
    out.earth_amps = 0;
    for (Branch leak : leaks_) out.earth_amps += amps(leak);
    out.zone_volts = found.volts[slot(output_)];
  }

  const SiteLayout& layout_;
  const SiteFaults& faults_;
  const double copper_;
  Network network_;
  Node output_;
  std::vector<Wire> wires_;                      // by zone
  std::vector<std::vector<Node>> common_nodes_;  // by common and its node; kNone: not made
  std::vector<Branch> leaks_;
};

}  // namespace

Solution solve(const SiteLayout& layout, std::span<const int> on, const SiteFaults& faults) {
  return SiteNetwork(layout, on, faults).solve();
}

}  // namespace coilward::circuit
