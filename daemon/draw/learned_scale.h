// How far a variance is from what it was thought to be, learned from squared surprises (against the variance
// promised). Thread: one at a time.
#pragma once

#include <algorithm>

namespace coilward {

// A normal deviate's squared surprise, cut where a fault would begin, is so much on average; own judgement.
inline constexpr double kMostSurprise = 5, kMeanSurprise = 0.92;

// The mean of the squared surprises of late, begun as if some had been seen already that were as expected;
// own judgement how many. share: of the variance promised, which the surprise says so much of (as the
// expectation step of Dempster, Laird and Rubin 1977 has it).
struct LearnedScale {
  double value = 1, seen = 0;
  void follow(double surprise, double share, double least, double most) {
    constexpr double kBefore = 3, kRemembers = 9;
    const double off = share * (std::min(surprise, kMostSurprise) / kMeanSurprise - 1);
    value = std::clamp(value * (1 + off / (kBefore + seen)), least, most);
    seen = std::min(seen + share, kRemembers);
  }
};

}  // namespace coilward
