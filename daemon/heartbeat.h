// A sign of life for a watcher elsewhere, once a period and only while the whole path is sound: a GET of an
// address, a message on a topic, or both. The watcher raises the alarm when it stays away.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/config/config.h"
#include "daemon/path_sound.h"

namespace coilward {

// Thread: the core's. The address is asked on a thread of its own, ten seconds at most.
class Heartbeat {
 public:
  using Publish = std::function<void(const std::string& topic, const std::string& payload)>;

  // `clock` and `config` outlive it.
  Heartbeat(const Config& config, const Clock& clock, Publish publish);
  ~Heartbeat();

  // Now and then: beats when the period is over. signs is asked only then. Why there was no beat:
  // last_words().
  void tick(const std::function<PathSigns()>& signs);
  const std::string& last_words() const { return why_not_; }
  std::uint64_t beats() const { return beats_; }
  // false: the thread could not be ended in time; it is left behind.
  bool stop(std::chrono::milliseconds limit);

 private:
  class Caller;
  const Config& config_;
  const Clock& clock_;
  Publish publish_;
  std::unique_ptr<Caller> caller_;  // where there is an address
  std::chrono::steady_clock::time_point next_{};
  std::string why_not_;
  std::uint64_t beats_ = 0;
};

}  // namespace coilward
