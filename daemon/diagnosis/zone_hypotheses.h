// Everything that can be wrong with one output by itself, in sizes, with what each would show. Index 0 is
// healthy.
#pragma once

#include <array>
#include <vector>

#include "daemon/diagnosis/prediction.h"
#include "daemon/diagnosis/zone_grids.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {

// Classes a zone's hypotheses fall into. The first three are benign: not findings.
enum class ZoneClass : std::uint8_t {
  healthy,
  replaced,  // another coil: its draw is learned anew
  offset,    // sound, but not where it was thought: an early guess, a sensor that drifts, a season's trace
  open_circuit,
  shorted_full,
  shorted_part,
  high_resistance,
  partial_open,
  plunger_not_seated,
  earth_leakage,
  sensor_gain,
};
inline constexpr int kZoneClasses = 11;
Fault fault_of(ZoneClass zone_class);  // of a class that is a finding

struct ZoneHypothesis {
  ZoneClass zone_class = ZoneClass::healthy;
  double size = 0;  // ohms added; share of turns left; valves lost; plungers out; share leaked; gain
  Prediction prediction;
  double share = 0;  // of the class's chance
};

// One hypothesis as it is believed: its chance, and what its predictions are off by.
struct Hypothetical {
  double chance = 0;
  Slacks slacks;
};
using Belief = std::vector<Hypothetical>;  // in the order of ZoneHypotheses

// The hypotheses of one output. Sizes of one class stand next to each other, in rows that rise.
class ZoneHypotheses {
 public:
  // source_ohms: in series with everything, limits a short.
  ZoneHypotheses(const ZoneElectrics& zone, double source_ohms);

  std::size_t size() const { return list_.size(); }
  const ZoneHypothesis& operator[](std::size_t i) const { return list_[i]; }

  // From what was believed after the run `last` to what is to be expected of `next`: what goes on. No last
  // one: it is the first. What is less likely than `least` is left out. Returned is the chance, by
  // hypothesis, that it begins just now. What goes on knows its slack and what begins does not: merged before
  // the run is weighed they would pass for one hypothesis that is vague, and bears what neither does.
  std::vector<double> step(Belief& belief, const Observation* last, const Observation& next,
                           double least) const;
  // What is open of one that begins just now. sound: the slacks of a healthy output.
  Slacks begun_slacks(std::size_t i, const Slacks& sound, const Observation& next) const;
  double chance(const Belief& belief, ZoneClass zone_class) const;
  // Chance that nothing is wrong, nor the coil another one.
  double sound(const Belief& belief) const;
  // Before the first run: often a site is connected because something is wrong already.
  Belief first() const;

 private:
  // Chances per run of one hypothesis: to end, to begin, to become the next or the previous size.
  struct Move {
    double heals = 0, begins = 0, up = 0, down = 0, stays = 1;
  };
  void add(ZoneClass zone_class, double size, Prediction prediction);
  void add(ZoneClass zone_class, const std::vector<SizedPrediction>& row);
  bool is_next(std::size_t i, std::size_t next) const;
  void find_moves();
  void put_in_others(std::vector<double>& begins, double put_in_all) const;
  std::vector<ZoneHypothesis> list_;
  std::vector<Move> moves_;
  std::array<std::size_t, kZoneClasses> begin_{}, count_{};
};

// Ratio of currents when ohms are added in series, by the circuit: holding and inrush.
// No current: a break in the zone's wire, its coil, or the common.
Prediction open_wire();
// wanders: by so much of what it does a splice is another one in each run, wet and dry, warm and cold; or, as
// often, it is the same for days. Own judgement.
inline constexpr double kSpliceWanders = 0.12, kSpliceKeeps = 0.003;
Prediction added_ohms(const ZoneElectrics& zone, double ohms, double wanders);

}  // namespace coilward
