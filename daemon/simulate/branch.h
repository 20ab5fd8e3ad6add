// What is connected at one moment, as loads in parallel: each load (a coil, a short, a leak) with the
// stretches its current passes on its way from the transformer and back. Stretches that two loads share
// couple them. That is enough for any tree of wires, and needs no nodes.
#pragma once

#include <complex>
#include <cstdint>
#include <span>
#include <vector>

#include "daemon/simulate/solenoid.h"

namespace coilward::simulate {

// A resistance in series that other loads may share: equal keys are the same piece of wire.
struct PathPiece {
  std::uint32_t key = 0;
  double ohms = 0;
};

enum class PieceKind : std::uint32_t { source, output, zone_wire, common_wire, own };
constexpr std::uint32_t piece_key(PieceKind kind, int of = 0, int box = 0) {
  return static_cast<std::uint32_t>(kind) << 24 | static_cast<std::uint32_t>(of) << 12 |
         static_cast<std::uint32_t>(box + 1);
}

struct Branch {
  int output = 0;  // the controller output that feeds it: zone number, kMasterZone for the master's
  int common = 0;  // the common it returns by; -1: through the earth
  int valve = -1;  // the site's valve; -1: no coil, a plain resistance
  const Solenoid* coil = nullptr;
  double coil_ohms = 0;    // copper at its present temperature, or the plain resistance
  double turns = 1;        // share of turns that is left
  double loss_ohms = 1e9;  // parallel to the inductance
  double gap_mm = 0;       // where the plunger is
  double travel_mm = 0;    // the smallest gap it can reach; equal to gap_mm when it is blocked
  bool fresh = false;      // switched on just now
  std::vector<PathPiece> path;

  double henries() const { return turns * turns * inductance(*coil, gap_mm); }
};

// Ohms that the currents of both pass, in rows: [a * n + b].
std::vector<double> shared_ohms(std::span<const Branch> branches);

// RMS amps of each branch as phasors against a source of `volts` RMS, all plungers at rest where they are.
std::vector<std::complex<double>> steady_currents(double volts, double hertz,
                                                  std::span<const Branch> branches,
                                                  std::span<const double> shared);

}  // namespace coilward::simulate
