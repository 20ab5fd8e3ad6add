// Faults of one output that come in any size, as a row of sizes whose holding currents stand evenly apart.
// What a fault's size leaves open is the same in every run, so it is a choice among sizes, each with a
// tolerance that the first runs use up (Prediction), and not one that each run may use anew: else a class
// that leaves more open would lose with every run. Thread: any; no state.
#pragma once

#include <complex>
#include <vector>

#include "daemon/diagnosis/prediction.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {

// Valves on one output that are told apart by number.
inline constexpr int kMostValves = 6;

// Of currents, from the impedances that carry them.
inline double current_ratio(std::complex<double> normal, std::complex<double> now) {
  return std::abs(normal) / std::abs(now);
}

struct SizedPrediction {
  double size = 0;
  double share = 0;  // of the class's chance; a row adds up to 1
  Prediction prediction;
};

std::vector<SizedPrediction> lost_turns(const ZoneElectrics& zone);      // size: share of turns left
std::vector<SizedPrediction> plungers_out(const ZoneElectrics& zone);    // size: plungers times way left
std::vector<SizedPrediction> leaks_to_earth(const ZoneElectrics& zone);  // size: amps leaked per normal amp
std::vector<SizedPrediction> valves_lost(const ZoneElectrics& zone);     // size: valves without current
std::vector<SizedPrediction> sensor_gains();                             // size: gain
std::vector<SizedPrediction> other_coils();                              // size: current over the old coil's

}  // namespace coilward
