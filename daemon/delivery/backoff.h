// How long to leave a receiver alone after it failed: 5 s, doubling to 5 min, each a fifth more or less so
// that many sites do not come back in step (own choice; common practice for such queues).
#pragma once

#include <algorithm>
#include <cmath>
#include <random>

#include "daemon/base/time.h"

namespace coilward {

inline constexpr double kFirstWaitS = 5;
inline constexpr double kLongestWaitS = 300;
inline constexpr double kJitter = 0.2;

// Thread: one at a time.
class Backoff {
 public:
  explicit Backoff(std::uint64_t seed) : random_(seed) {}
  // failures: in a row, at least 1.
  Millis wait(int failures) {
    const double base = std::min(kLongestWaitS, kFirstWaitS * std::exp2(std::clamp(failures - 1, 0, 16)));
    const double seconds = base * std::uniform_real_distribution<>(1 - kJitter, 1 + kJitter)(random_);
    return Millis{static_cast<std::int64_t>(seconds * 1000)};
  }

 private:
  std::mt19937_64 random_;
};

}  // namespace coilward
