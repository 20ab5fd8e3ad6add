#include "daemon/runs/unseen_returns.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

struct Returns {
  UnseenReturns returns;
  UtcTime now = *parse_rfc3339("2026-05-04T05:00:00Z");
  void minutes(int count, double amps, bool any_on = false) {
    for (int i = 0; i < 6 * count; ++i, now += std::chrono::seconds(10))
      returns.reading(0, now, amps, any_on);
  }
  double last(int minutes) const { return returns.amps(0, now - std::chrono::minutes(minutes), now); }
};

TEST(UnseenReturns, AreThoseOfTheTimeAskedFor) {
  Returns r;
  r.minutes(10, 0.002);
  r.minutes(10, 0.24);
  EXPECT_NEAR(r.last(10), 0.24, 1e-9);
  EXPECT_NEAR(r.returns.amps(0, r.now - std::chrono::minutes(20), r.now - std::chrono::minutes(10)), 0.002,
              1e-9);
}

TEST(UnseenReturns, AreNotKnownWhileAnOutputIsOnNorWhileNothingIsHeard) {
  Returns r;
  r.minutes(5, 0.24);
  r.minutes(1, 0.48, true);
  r.minutes(4, 0.24);
  EXPECT_FALSE(measured(r.last(10)));
  EXPECT_TRUE(measured(r.last(4)));
  r.now += std::chrono::minutes(20);
  r.minutes(5, 0.24);
  EXPECT_FALSE(measured(r.last(20)));
  EXPECT_FALSE(measured(r.returns.amps(1, r.now - std::chrono::minutes(4), r.now)));  // another common
}

}  // namespace
}  // namespace coilward
