// One notifier with its thread, its part of the outbox and its own time-outs: a receiver that hangs delays
// nobody else's.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/delivery/outbox_source.h"
#include "daemon/delivery/receiver.h"

namespace coilward {

struct NotifierUse {
  std::string name;  // the user's
  std::string plugin;
  std::string timezone;    // the site's, IANA
  std::uint64_t seed = 0;  // of the jitter; 0: from the name and the clock
  // Another is to try it too: three attempts in a row have failed, or this one was refused. May come more
  // than once for one alert. [the runner's thread]
  std::function<void(const WaitingAlert&)> hand_over = nullptr;
};

// Thread: any for the member functions.
class NotifierRunner {
 public:
  // Starts the thread. `clock` must live until the process ends (a thread may be left behind).
  NotifierRunner(NotifierUse use, std::unique_ptr<Receiver> receiver, std::unique_ptr<OutboxSource> outbox,
                 const Clock& clock);
  ~NotifierRunner();  // as stop(2 s)

  // Something was queued for it, or the clock was set.
  void wake();
  // An alert that could not be saved: delivered from memory, once, also when it is saved later.
  void deliver_unsaved(WaitingAlert alert);
  // One attempt now, ahead of everything but a running one; `then` is called on the runner's thread with the
  // other side's own words. Alerts that wait are not touched.
  void test(std::string alert_json, std::function<void(const Delivered&)> then);
  DeliveryState state() const;
  // false: the receiver did not return in time; its thread is left behind.
  bool stop(Millis limit);

 private:
  struct Body;
  std::shared_ptr<Body> body_;
  struct Threads;
  std::unique_ptr<Threads> threads_;
};

}  // namespace coilward
