#include "daemon/delivery/exporter_runner.h"

#include <mutex>
#include <utility>

#include "daemon/delivery/exporter_step.h"
#include "daemon/delivery/worker.h"

namespace coilward {

// Owned by the thread too, so that it may outlive the runner.
struct ExporterRunner::Body {
  std::unique_ptr<Receiver> receiver;
  std::unique_ptr<BatchSource> source;
  ExporterStep steps;  // the thread's
  mutable std::mutex mutex;
  DeliveryState state;

  Body(std::string name, std::string plugin, std::unique_ptr<Receiver> to, std::unique_ptr<BatchSource> from,
       const Clock& clock, std::uint64_t seed)
      : receiver(std::move(to)),
        source(std::move(from)),
        steps(std::move(name), std::move(plugin), *receiver, *source, clock, seed),
        state(steps.state()) {}

  std::optional<Millis> step() {
    const auto wait = steps.step();
    std::lock_guard lock(mutex);
    state = steps.state();
    return wait;
  }
};

struct ExporterRunner::Threads {
  Worker worker;
};

ExporterRunner::ExporterRunner(std::string name, std::string plugin, std::unique_ptr<Receiver> receiver,
                               std::unique_ptr<BatchSource> source, const Clock& clock, std::uint64_t seed)
    : body_(std::make_shared<Body>(std::move(name), std::move(plugin), std::move(receiver), std::move(source),
                                   clock, seed)),
      threads_(new Threads{Worker([body = body_] { return body->step(); },
                                  [body = body_] { body->receiver->interrupt(); })}) {}

ExporterRunner::~ExporterRunner() = default;

void ExporterRunner::wake() { threads_->worker.wake(); }

DeliveryState ExporterRunner::state() const {
  std::lock_guard lock(body_->mutex);
  return body_->state;
}

bool ExporterRunner::stop(Millis limit) { return threads_->worker.stop(limit); }

}  // namespace coilward
