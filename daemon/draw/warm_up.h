// How far an output's current falls while its coil warms. The fall goes with the square of the coil's
// resistance and the fourth power of the current that an impedance lets through: a plunger that is out, lost
// turns, current that leaks past the coil and a sensor's gain may all show one level, and fall by different
// amounts.
//
// Of each output the whole fall is learned (towards a run that never ends), of all of them how much a run
// scatters about it.
//
// Thread: one at a time.
#pragma once

#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

// What one run shows: its last level against the one early on, the sensor's zero taken off.
struct WarmUp {
  double fall = kNotMeasured;  // relative; NaN: too short, or another output came and went
  double noise = 0;            // standard deviation of it
  double share = 0;            // of the whole fall that it had time for
};

// What a healthy run would show.
struct WarmUpForecast {
  double fall = 0;
  double whole = 0;       // of the output, once it is warm
  double sd = 0;          // of this run alone
  double lasting_sd = 0;  // relative: how well the output's whole fall is known
};

class WarmUpModel {
 public:
  explicit WarmUpModel(std::size_t outputs);

  static WarmUp seen(const Run& run);
  WarmUpForecast forecast(int index, const WarmUp& seen) const;
  // weight (0..1]: how surely the run was sound.
  void learn(int index, const WarmUp& seen, double weight);
  void forget(int index);  // another coil

  Json save() const;
  void restore(const Json& saved);  // of the same outputs

 private:
  // A potted coil on its holding current ends some 30 to 60 K over the ground, and a quarter to a half of its
  // impedance is resistance (common practice: 20 to 60 ohms at 0.2 to 0.3 A): a fall of 1 to 5 %.
  static constexpr double kUsual = 0.03, kUsualSd = 0.025;
  struct Whole {
    double mean = kUsual, variance = kUsualSd * kUsualSd;
  };
  std::vector<Whole> whole_;  // by output
  double scale_ = 1;          // learned: squared surprise against the noise promised
};

}  // namespace coilward
