#include "daemon/delivery/notifier_runner.h"

#include <deque>
#include <mutex>
#include <utility>

#include "daemon/delivery/notifier_step.h"
#include "daemon/delivery/worker.h"

namespace coilward {
namespace {

std::uint64_t seed_of(const NotifierUse& use, const Clock& clock) {
  if (use.seed != 0) return use.seed;
  return std::hash<std::string>{}(use.name) ^ static_cast<std::uint64_t>(to_ms(clock.utc()));
}

}  // namespace

// Owned by the thread too, so that it may outlive the runner.
struct NotifierRunner::Body {
  struct Test {
    std::string json;
    std::function<void(const Delivered&)> then;
  };

  std::unique_ptr<Receiver> receiver;
  SpareOutbox outbox;
  NotifierStep steps;  // the thread's
  mutable std::mutex mutex;
  std::deque<Test> tests;
  DeliveryState state;

  Body(const NotifierUse& use, std::unique_ptr<Receiver> to, std::unique_ptr<OutboxSource> from,
       const Clock& clock)
      : receiver(std::move(to)),
        outbox(std::move(from)),
        steps(use.name, use.plugin, use.timezone, *receiver, outbox, clock, seed_of(use, clock)),
        state(steps.state()) {
    steps.hand_over_to(use.hand_over);
  }

  std::optional<Millis> step() {
    if (auto test = next_test()) {
      test->then(steps.test(test->json));
      publish();
      return Millis{0};
    }
    const auto wait = steps.step();
    publish();
    return wait;
  }

  std::optional<Test> next_test() {
    std::lock_guard lock(mutex);
    if (tests.empty()) return std::nullopt;
    std::optional<Test> test(std::move(tests.front()));
    tests.pop_front();
    return test;
  }

  void publish() {
    const auto dropped = outbox.dropped();
    std::lock_guard lock(mutex);
    state = steps.state();
    state.dropped = dropped;
  }
};

struct NotifierRunner::Threads {
  Worker worker;
};

NotifierRunner::NotifierRunner(NotifierUse use, std::unique_ptr<Receiver> receiver,
                               std::unique_ptr<OutboxSource> outbox, const Clock& clock)
    : body_(std::make_shared<Body>(use, std::move(receiver), std::move(outbox), clock)),
      threads_(new Threads{Worker([body = body_] { return body->step(); },
                                  [body = body_] { body->receiver->interrupt(); })}) {}

NotifierRunner::~NotifierRunner() = default;

void NotifierRunner::wake() { threads_->worker.wake(); }

void NotifierRunner::deliver_unsaved(WaitingAlert alert) {
  body_->outbox.put(std::move(alert));
  wake();
}

void NotifierRunner::test(std::string alert_json, std::function<void(const Delivered&)> then) {
  {
    std::lock_guard lock(body_->mutex);
    body_->tests.push_back({std::move(alert_json), std::move(then)});
  }
  wake();
}

DeliveryState NotifierRunner::state() const {
  std::lock_guard lock(body_->mutex);
  return body_->state;
}

bool NotifierRunner::stop(Millis limit) { return threads_->worker.stop(limit); }

}  // namespace coilward
