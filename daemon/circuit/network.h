// Any linear network at one frequency: nodes, impedances, sources, coupled windings; solved for all voltages
// and currents. Modified nodal analysis (Ho, Ruehli, Brennan, IEEE Trans. CAS 22, 1975): an impedance too
// small to have a usable admittance, and every winding, has its own current among the unknowns, so that zero
// ohms are exact. Dense: meant for up to some hundred unknowns.
//
// A part without any path to the reference node is held at the reference by one of its nodes; no current
// flows there. Thread: any for const calls.
#pragma once

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/circuit/phasor.h"

namespace coilward::circuit {

using Node = int;
inline constexpr Node kReference = 0;  // the node voltages are counted from
using Branch = int;

// A number of something in a row, as an index.
inline std::size_t slot(int index) { return static_cast<std::size_t>(index); }

struct NetworkSolution {
  std::vector<Phasor> volts;  // by Node; [kReference] is 0
  std::vector<Phasor> amps;   // by Branch, counted from its first node to its second
};

class Network {
 public:
  Node add_node() { return nodes_++; }
  // ohms: finite; zero joins the nodes. An open path is one that is not added.
  Branch add_impedance(Node from, Node to, Impedance ohms);
  // Lifts `to` above `from` by `volts` when no current flows.
  Branch add_source(Node from, Node to, Phasor volts, Impedance series_ohms);
  // Two windings; like ends are the first nodes. `mutual_ohms` is omega M, as an impedance: j omega k sqrt(L1
  // L2).
  std::pair<Branch, Branch> add_windings(Node from1, Node to1, Impedance ohms1, Node from2, Node to2,
                                         Impedance ohms2, Impedance mutual_ohms);

  // nullopt: no unique answer. A loop of zero ohms, a source shorted by zero ohms, or a value that is not
  // finite.
  std::optional<NetworkSolution> solve() const;

 private:
  struct Element {
    Node from, to;
    Phasor volts;
    Impedance ohms;
    Branch mate = -1;  // the other winding
    Impedance mutual;
    bool own_unknown() const;
  };
  struct System;

  std::vector<Node> floating_parts() const;
  System equations() const;

  int nodes_ = 1;
  std::vector<Element> elements_;
};

}  // namespace coilward::circuit
