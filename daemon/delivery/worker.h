// A thread that takes steps and sleeps between them. It can be left behind: whatever hangs inside a step (a
// plugin that does not hear interrupt) must not keep the daemon from ending.
#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "daemon/base/time.h"

namespace coilward {

// Thread: any for the member functions, but not from inside a step.
class Worker {
 public:
  // step: how long to sleep before the next; nullopt: until wake(). interrupt: makes a running step return
  // soon. Both must own what they use: they may outlive the Worker when a step never returns.
  Worker(std::function<std::optional<Millis>()> step, std::function<void()> interrupt);
  ~Worker();  // as stop(2 s)
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;

  void wake();
  // Interrupts and waits for the running step. false: it did not return within the limit; the thread is left
  // to itself and ends when it does.
  bool stop(Millis limit);

 private:
  struct Shared;
  std::shared_ptr<Shared> shared_;
};

}  // namespace coilward
