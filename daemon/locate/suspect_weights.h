// How often things fail beside one another, and what other zones say for a common. Inside this folder only.
// All weights are in metres of buried zone wire, as in places.cpp: common practice, rough.
#pragma once

#include <vector>

#include "daemon/config/config.h"
#include "daemon/locate/suspects.h"

namespace coilward {

struct FaultWeights {
  double metre = 1, splice = 10, coil = 15, controller = 3;
};
// A break: as in places.cpp.
inline constexpr FaultWeights kOpenWeights{1, 10, 15, 3};
// Ohms that grow: water in a splice, seldom anything else.
inline constexpr FaultWeights kCorrosionWeights{0.1, 20, 1, 3};
// A dead short: the coil, more than nicked wires.
inline constexpr FaultWeights kShortWeights{0.2, 4, 60, 0};
// Insulation: nicked wire, a splice under water, a coil whose case let water in.
inline constexpr FaultWeights kLeakWeights{0.5, 15, 8, 0.5};
// Wires that touch: in a box, a nicked cable, two wires in one terminal.
inline constexpr FaultWeights kCrossWeights{0.2, 10, 0, 6};

// A common is the thicker wire and breaks half as often (own judgement).
inline constexpr double kCommonShare = 0.5;
// Several coils on one output that fail in the same hour (own judgement).
inline constexpr double kSeveralCoils = 0.05;
// A splice that parts only what leads on, beside one that parts all (own judgement).
inline constexpr double kLeadsOn = 0.3;
// Below this multiple of normal a shorted coil has lost a few turns.
inline constexpr double kPartOfTurns = 3;

// With the notes of the stretch's or the splice's box.
double segment_weight(const Config& config, const Stop& stop, const FaultWeights& weights);
double splice_weight(const Config& config, const Stop& stop, const FaultWeights& weights);

// What the finding and the other zones on the same common say of it, stop by stop.
class CommonWitness {
 public:
  CommonWitness(const Config& config, const Finding& finding, const WirePath& path,
                const std::vector<Neighbour>& neighbours);

  // The part of its weight that is left when another zone draws by way of it. 1: none does.
  double segment_left(int stop) const { return segment_left_[static_cast<std::size_t>(stop)]; }
  double splice_left(int stop) const { return splice_left_[static_cast<std::size_t>(stop)]; }
  // A factor for each stop's segment and splice, for a fault of the common: from the finding's `where`, else
  // from which zones are dead and which draw.
  std::vector<double> said_by_runs(const FaultWeights& weights) const;
  double controller_weight(const FaultWeights& weights) const;

 private:
  void hear(const Neighbour& neighbour, const ZoneConfig& zone);
  bool takes_out_all(int stop) const;

  const Config& config_;
  const Finding& finding_;
  const WirePath& path_;
  std::vector<double> segment_left_, splice_left_;
};

}  // namespace coilward
