#include "daemon/diagnosis/prediction.h"

#include <gtest/gtest.h>

#include <cmath>

namespace coilward {
namespace {

// A level of 20 % too much in a run that is known to 1 %.
Observation a_fifth_more() {
  Observation o;
  o.hold_ratio = 1.2;
  o.hold_sd = 0.01;
  o.zero_sd = 0.016;
  return o;
}

Slacks open_by(double sd) {
  Slacks slacks;
  slacks.hold.variance = sd * sd;
  return slacks;
}

// What a size leaves open is paid for once: the second run at the same level finds it known.
TEST(Prediction, WhatIsLeftOpenIsUsedUpByTheFirstRun) {
  Slacks slacks = open_by(0.1);
  const Observation seen = a_fifth_more();
  const double first = weigh(seen, {}, slacks);
  EXPECT_NEAR(slacks.hold.mean, std::log(1.2), 0.01);
  EXPECT_LT(slacks.hold.variance, 0.02 * 0.02);
  EXPECT_GT(weigh(seen, {}, slacks), 3 * first);
}

// Kalman's gain and variance, with the tails of Student's t not yet felt: 0.01 of 0.01 + 0.0001.
TEST(Prediction, SlackIsNarrowedAsAKalmanFilterDoes) {
  Observation seen = a_fifth_more();
  seen.hold_ratio = std::exp(0.001);
  Slacks slacks = open_by(0.1);
  weigh(seen, {}, slacks);
  EXPECT_NEAR(slacks.hold.mean, 0.001 * 0.01 / 0.0101, 1e-9);
  EXPECT_NEAR(slacks.hold.variance, 0.01 * 0.0001 / 0.0101, 1e-9);
}

// What wanders is open again in every run.
TEST(Prediction, WanderIsNotUsedUp) {
  Prediction wanders;
  wanders.hold_wander = 0.1;
  Slacks slacks;
  const double first = weigh(a_fifth_more(), wanders, slacks);
  EXPECT_DOUBLE_EQ(weigh(a_fifth_more(), wanders, slacks), first);
}

// A wild inrush moves nothing that the next run is held against.
TEST(Prediction, WildInrushIsNotLearnedFrom) {
  Observation seen;
  seen.inrush_ratio = 0.4;
  seen.inrush_sd = 0.02;
  Slacks slacks;
  slacks.inrush.variance = 0.03 * 0.03;
  weigh(seen, {}, slacks);
  EXPECT_NEAR(slacks.inrush.mean, 0, 0.02);
}

TEST(Prediction, NothingIsLikelierThanTheMost) {
  Observation seen = a_fifth_more();
  seen.returned_ratio = 0.9;
  seen.returned_sd = 0.03;
  for (double hold : {0.0, 0.5, 1.0, 1.19, 1.2, 2.0})
    for (double returned : {0.8, 0.9, 1.0}) {
      Prediction expected;
      expected.hold = hold;
      expected.returned = returned;
      Slacks slacks;
      EXPECT_LE(weigh(seen, expected, slacks), most_likely(seen)) << hold << " " << returned;
    }
}

// Two halves at 0 and 1: mean a half, variance a quarter.
TEST(Prediction, MixtureHasTheMomentsOfBoth) {
  const Slack both = mixed(Slack{0, 0}, 0.5, Slack{1, 0}, 0.5);
  EXPECT_DOUBLE_EQ(both.mean, 0.5);
  EXPECT_DOUBLE_EQ(both.variance, 0.25);
}

// Of a coil that may not have seated, what the likelier way to come there knew.
TEST(Prediction, MixtureKeepsWhatTheLikelierKnewOfAPlunger) {
  Slacks old, fresh;
  old.unseated = 0.9;
  old.out = {0.3, 1e-6};
  EXPECT_FALSE(measured(mixed(old, 1e-9, fresh, 1e-6).unseated));
  EXPECT_DOUBLE_EQ(mixed(old, 1e-6, fresh, 1e-9).unseated, 0.9);
}

// How far out it is, is the same in each run: what the first one showed is not open in the second.
TEST(Prediction, LevelOfAnUnseatedPlungerIsUsedUpByTheFirstRun) {
  Prediction low;
  low.hold = 0.75, low.unseated = 0.5, low.hold_unseated = 1.2, low.unseated_sd = 0.3;
  Observation seen;
  seen.hold_ratio = 1.45, seen.hold_sd = 0.01, seen.zero_sd = 0.01;
  Slacks slacks;
  const double first = weigh(seen, low, slacks), second = weigh(seen, low, slacks);
  EXPECT_NEAR(slacks.out.mean, std::log(1.45 / 1.2), 0.02);
  EXPECT_GT(second, 5 * first);
}

// What is not known of a level has no heavy tails: four of its deviations off is another level.
TEST(Prediction, LevelThatIsRoughlyKnownIsNotFreeToBeAnother) {
  Observation seen = a_fifth_more();
  seen.hold_sd = 0.003;
  seen.hold_ratio = std::exp(4 * 0.045);
  Slacks close = open_by(0.045), open = open_by(0.18);
  EXPECT_LT(weigh(seen, {}, close), 0.005 * weigh(seen, {}, open));
}

// A run that no level explains is no news of the level.
TEST(Prediction, DeadRunMovesNoLevel) {
  Observation seen = a_fifth_more();
  seen.hold_sd = 0.006;
  seen.hold_ratio = 0;
  Slacks slacks = open_by(0.045);
  for (int run = 0; run < 20; ++run) weigh(seen, {}, slacks);
  EXPECT_LT(std::abs(slacks.hold.mean), 0.1);
}

// A plunger that want of volts keeps from seating does not seat the next time either.
TEST(Prediction, WhatDoesNotSeatStaysUnseated) {
  Prediction low;
  low.hold = 0.75, low.unseated = 0.25, low.hold_unseated = 1.2, low.unseated_sd = 0.03;
  const auto seen = [](double hold) {
    Observation o;
    o.hold_ratio = hold, o.hold_sd = 0.01, o.zero_sd = 0.01;
    return o;
  };
  Slacks out, seated;
  const double first_out = weigh(seen(1.2), low, out), first_seated = weigh(seen(0.75), low, seated);
  for (int run = 0; run < 4; ++run) weigh(seen(1.2), low, out), weigh(seen(0.75), low, seated);
  EXPECT_GT(weigh(seen(1.2), low, out), 3 * first_out);
  EXPECT_GT(weigh(seen(0.75), low, seated), 1.2 * first_seated);
  weigh(seen(1.0), {}, out);
  EXPECT_FALSE(measured(out.unseated));
}

// A sensor that reads two fifths too much beside a master coil that draws as much again: of 1.4 and 1 that
// seem to leave, 2 come back.
TEST(Prediction, WhatOthersSendComesBackAllTheSame) {
  Prediction gain;
  gain.hold = 1.4, gain.returned = 1 / 1.4;
  Observation seen;
  seen.hold_ratio = 1.4, seen.hold_sd = 0.01, seen.zero_sd = 0.01;
  seen.returned_ratio = 2 / 2.4, seen.returned_sd = 0.02, seen.own_share = 1.4 / 2.4;
  Observation alone = seen;
  alone.returned_ratio = 1 / 1.4, alone.own_share = 1;
  Slacks beside_others, by_itself;
  EXPECT_GT(weigh(seen, gain, beside_others), 0.8 * weigh(alone, gain, by_itself));
}

}  // namespace
}  // namespace coilward
