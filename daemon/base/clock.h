// The only source of "now". Stages never hold one: they take time from what they are given.
#pragma once

#include <atomic>
#include <chrono>

#include "daemon/base/time.h"

namespace coilward {

// Thread: any.
class Clock {
 public:
  virtual ~Clock() = default;
  virtual UtcTime utc() const = 0;                                   // wall clock; may jump
  virtual std::chrono::steady_clock::time_point steady() const = 0;  // for durations; never jumps
};

class SystemClock final : public Clock {
 public:
  UtcTime utc() const override {
    return std::chrono::time_point_cast<Millis>(std::chrono::system_clock::now());
  }
  std::chrono::steady_clock::time_point steady() const override { return std::chrono::steady_clock::now(); }
};

// A clock that moves only when told to: for tests and replay.
class FakeClock final : public Clock {
 public:
  explicit FakeClock(UtcTime start) : utc_ms_(to_ms(start)) {}
  UtcTime utc() const override { return from_ms(utc_ms_.load()); }
  std::chrono::steady_clock::time_point steady() const override {
    return std::chrono::steady_clock::time_point{Millis{steady_ms_.load()}};
  }
  void advance(Millis by) {
    utc_ms_ += by.count();
    steady_ms_ += by.count();
  }
  void jump_utc(UtcTime to) { utc_ms_ = to_ms(to); }  // as a time server does

 private:
  std::atomic<std::int64_t> utc_ms_;
  std::atomic<std::int64_t> steady_ms_{0};
};

}  // namespace coilward
