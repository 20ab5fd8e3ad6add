// Suspects and test readings -> how likely each suspect is, through the ladder. Beside where it is, what is
// not known of a defect (its ohms), of the supply and of the coils is kept open and narrowed by the readings.
// Thread: any.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "daemon/locate/suspects.h"
#include "daemon/locate/test_reading.h"

namespace coilward {

// Common practice: a meter's tolerance, and what a wire that leads nowhere picks up from its neighbours.
inline constexpr double kMeterVolts = 0.15, kMeterShare = 0.01, kPickedUpVolts = 1.0;
inline constexpr double kMeterOhms = 0.3, kMeterOhmsShare = 0.05;
// Mains and load move the supply: a 24 volt one shows 22 to 28 (common practice), which is this much and so
// far to both sides of its volts with nothing on. Coils of one rating differ, and most print no ohms (own
// judgement).
inline constexpr double kSupplyMiddle = 0.94, kSupplySd = 0.06, kCoilSd = 0.22;
// A path of at least so many ohms is none. Common practice: insulation shows far more, a coil far less.
inline constexpr double kNoPathOhms = 3000;
// Of a test source's volts: at the far end of a good wire, and of a broken one at most (35 and 0.3 of 40,
// common practice). Between the two it is doubtful.
inline constexpr double kGoodSource = 35.0 / 40.0, kGoodSourceSd = 0.08, kBrokenSource = 0.3 / 40.0;

struct Judgement {
  std::vector<double> probability;  // of each suspect; sums to 1
  std::vector<bool> explained;      // each reading: by some place, taken alone
  bool together = true;             // some place explains all of them
  std::vector<int> odd;             // not together: each of these readings spoils the others
  // What the readings made of it, relative.
  double supply = kSupplyMiddle, supply_sd = kSupplySd;
  double coil = 1, coil_sd = kCoilSd;
};

// The sizes that a suspect's defect may have. ratio: what the zone draws over what is normal.
std::vector<double> sizes_of(const Suspect& suspect, const Ladder& ladder, double ratio);
Condition condition_of(const Suspect& suspect, double ohms);

// ratio: as draw_ratio of the finding. Readings at places that are not on the way say nothing.
Judgement judge_readings(std::span<const Suspect> suspects, const Ladder& ladder, const WirePath& path,
                         double ratio, std::span<const TestReading> readings);

// Observed over expected current of the finding's evidence; 1 where none says.
double draw_ratio(const Finding& finding);

// Sentences for whoever entered them; empty when all is well.
std::string odd_words(const Judgement& judgement, std::span<const TestReading> readings);

}  // namespace coilward
