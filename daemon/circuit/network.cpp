#include "daemon/circuit/network.h"

#include <numeric>

#include "daemon/circuit/dense_system.h"

namespace coilward::circuit {
namespace {

// Below this an admittance would swamp those of coils in the digits of a double.
constexpr double kLeastOhmsAsAdmittance = 1e-3;

// Which nodes hang together.
class Parts {
 public:
  explicit Parts(int nodes) : leader_(slot(nodes)) { std::iota(leader_.begin(), leader_.end(), 0); }
  Node leader(Node node) const {
    while (leader_[slot(node)] != node) node = leader_[slot(node)];
    return node;
  }
  // The lower number leads, so that the reference leads its own part.
  void join(Node a, Node b) {
    a = leader(a), b = leader(b);
    leader_[slot(std::max(a, b))] = std::min(a, b);
  }

 private:
  std::vector<Node> leader_;
};

}  // namespace

struct Network::System {
  DenseSystem equations;
  std::vector<int> unknown_of;  // by Branch: the place of its current among the unknowns; -1: by admittance
};

bool Network::Element::own_unknown() const {
  return mate >= 0 || std::norm(ohms) < kLeastOhmsAsAdmittance * kLeastOhmsAsAdmittance;
}

Branch Network::add_impedance(Node from, Node to, Impedance ohms) { return add_source(from, to, 0, ohms); }

Branch Network::add_source(Node from, Node to, Phasor volts, Impedance series_ohms) {
  elements_.push_back({from, to, volts, series_ohms});
  return static_cast<Branch>(elements_.size()) - 1;
}

std::pair<Branch, Branch> Network::add_windings(Node from1, Node to1, Impedance ohms1, Node from2, Node to2,
                                                Impedance ohms2, Impedance mutual_ohms) {
  const Branch first = add_impedance(from1, to1, ohms1), second = add_impedance(from2, to2, ohms2);
  elements_[slot(first)].mate = second;
  elements_[slot(second)].mate = first;
  elements_[slot(first)].mutual = elements_[slot(second)].mutual = mutual_ohms;
  return {first, second};
}

// One node of each part that no element joins to the reference.
std::vector<Node> Network::floating_parts() const {
  Parts parts(nodes_);
  for (const Element& e : elements_) parts.join(e.from, e.to);
  std::vector<Node> leaders;
  for (Node node = 1; node < nodes_; ++node)
    if (parts.leader(node) == node) leaders.push_back(node);
  return leaders;
}

Network::System Network::equations() const {
  std::vector<int> unknown_of;
  int size = nodes_ - 1;
  for (const Element& e : elements_) unknown_of.push_back(e.own_unknown() ? size++ : -1);
  System system{DenseSystem(size), std::move(unknown_of)};
  // Currents leaving a node add up to nothing. The reference has no equation.
  const auto add = [&](int row, int column, Phasor value) {
    if (row >= 0 && column >= 0) system.equations.at(row, column) += value;
  };
  const auto add_right = [&](int row, Phasor value) {
    if (row >= 0) system.equations.right(row) += value;
  };
  for (std::size_t i = 0; i < elements_.size(); ++i) {
    const Element& e = elements_[i];
    const int from = e.from - 1, to = e.to - 1, own = system.unknown_of[i];
    if (own < 0) {
      const Phasor siemens = 1.0 / e.ohms;
      add(from, from, siemens), add(to, to, siemens), add(from, to, -siemens), add(to, from, -siemens);
      add_right(from, -siemens * e.volts), add_right(to, siemens * e.volts);
      continue;
    }
    add(from, own, 1), add(to, own, -1);
    add(own, from, 1), add(own, to, -1), add(own, own, -e.ohms);
    if (e.mate >= 0) add(own, system.unknown_of[slot(e.mate)], -e.mutual);
    add_right(own, -e.volts);
  }
  for (Node node : floating_parts()) add(node - 1, node - 1, 1);
  return system;
}

std::optional<NetworkSolution> Network::solve() const {
  System system = equations();
  if (!system.equations.solve()) return std::nullopt;
  NetworkSolution solution{std::vector<Phasor>(slot(nodes_)), std::vector<Phasor>(elements_.size())};
  for (Node node = 1; node < nodes_; ++node) solution.volts[slot(node)] = system.equations.right(node - 1);
  for (std::size_t i = 0; i < elements_.size(); ++i) {
    const Element& e = elements_[i];
    const int own = system.unknown_of[i];
    solution.amps[i] = own >= 0
                           ? system.equations.right(own)
                           : (solution.volts[slot(e.from)] - solution.volts[slot(e.to)] + e.volts) / e.ohms;
  }
  return solution;
}

}  // namespace coilward::circuit
