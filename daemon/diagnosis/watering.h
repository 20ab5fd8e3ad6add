// The runs of one watering whose volts nobody measured, as far as they have taught nothing yet.
//
// After a night the supply is known to a few per cent. The first run that teaches settles what it is today,
// and all others are held against that: a first one with a bad splice would make its neighbours look like
// leaks. So a run that says more of the supply than of its output waits until another output agrees with it.
// And where something is thought to act on all outputs, so that none of them teaches what is normal, most of
// them together still say what the supply is: else each would count as a witness of a deviation they share.
//
// Thread: one at a time; the model outlives it.
#pragma once

#include <vector>

#include "daemon/draw/draw_model.h"

namespace coilward {

struct WaitingRun {
  DrawSample sample;
  double sound = 0;     // how surely nothing was wrong with the output, as the run looked by itself
  bool teaches = true;  // sure enough to learn from
};

class Watering {
 public:
  Watering(const DrawModel& model, std::size_t outputs) : model_(model), outputs_(outputs) {}

  // Whether it has to wait: then it is kept.
  bool waits(const WaitingRun& run);
  // Those that agree with each other, most of them if there are several such groups; they wait no more. With
  // none, and nothing else to come in this watering, the one that is nearest to what was expected.
  std::vector<WaitingRun> agreed();
  std::vector<WaitingRun> left_over(UtcTime now);

 private:
  std::vector<WaitingRun> group_of(const WaitingRun& one) const;
  bool believed(const std::vector<WaitingRun>& group) const;

  const DrawModel& model_;
  std::size_t outputs_;
  std::vector<WaitingRun> waiting_;
};

// A watering lasts some hours (common practice).
inline constexpr auto kOneWatering = std::chrono::hours(8);

}  // namespace coilward
