// How a runner is doing, for pages, metrics and /healthz.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/base/time.h"

namespace coilward {

struct DeliveryState {
  std::string name;  // the user's
  std::string plugin;
  std::uint64_t attempts = 0;
  std::uint64_t done = 0;
  std::uint64_t retried = 0;  // attempts that ended in "later"
  std::uint64_t refused = 0;
  std::uint64_t given_up = 0;
  std::uint64_t dropped = 0;  // for want of memory, while the disk failed
  int failures = 0;           // in a row; 0: well
  UtcTime failing_since = kNever;
  UtcTime last_attempt = kNever;
  std::string last_words;   // the other side's
  UtcTime tested = kNever;  // the last test
  bool test_taken = false;
  std::string test_words;
  std::string trouble;  // of our own: the outbox cannot be read; empty when well
  bool stuck() const { return failures >= 3; }
};

}  // namespace coilward
