// How long to wait before the next attempt to connect.
#pragma once

#include <algorithm>
#include <chrono>
#include <random>

namespace coilward {

// Grows by half with each failure up to the longest, less up to a fifth by chance, so that the sites of one
// contractor do not all come back in the same second. Common practice; half rather than double, because two
// clients that take each other's session must each be thrown out five times within a minute to be sure of it.
class ReconnectDelay {
 public:
  ReconnectDelay(std::chrono::milliseconds first, std::chrono::milliseconds longest)
      : first_(first), longest_(longest), random_(std::random_device{}()) {}

  // failures: attempts that failed in a row; 0 right after a connection was lost.
  std::chrono::milliseconds after(unsigned failures) {
    double wait = static_cast<double>(first_.count());
    for (unsigned i = 0; i < std::min(failures, 64u); ++i) wait *= 1.5;
    wait = std::min(wait, static_cast<double>(longest_.count()));
    wait *= std::uniform_real_distribution<>(0.8, 1.0)(random_);
    return std::chrono::milliseconds(static_cast<std::int64_t>(wait));
  }

 private:
  std::chrono::milliseconds first_;
  std::chrono::milliseconds longest_;
  std::minstd_rand random_;
};

}  // namespace coilward
