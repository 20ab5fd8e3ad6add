// Waiting for something to become true, with a deadline: tests do not sleep and hope.
#pragma once

#include <chrono>
#include <thread>

namespace coilward {

template <class Condition>
bool becomes_true(Condition condition, std::chrono::milliseconds within = std::chrono::seconds(20)) {
  const auto deadline = std::chrono::steady_clock::now() + within;
  while (!condition()) {
    if (std::chrono::steady_clock::now() > deadline) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return true;
}

}  // namespace coilward
