#include "daemon/delivery/worker.h"

#include <pthread.h>

#include <condition_variable>
#include <mutex>
#include <thread>

namespace coilward {
namespace {

// An interrupt that comes between two looks at the stop flag would be lost: it is repeated.
constexpr Millis kInterruptEvery{20};

}  // namespace

struct Worker::Shared {
  std::function<std::optional<Millis>()> step;
  std::function<void()> interrupt;
  std::mutex mutex;
  std::condition_variable changed;
  bool stopping = false;
  bool woken = false;
  bool ended = false;

  // false: stopping.
  bool sleep(std::optional<Millis> time) {
    std::unique_lock lock(mutex);
    const auto ready = [this] { return woken || stopping; };
    if (time)
      changed.wait_for(lock, *time, ready);
    else
      changed.wait(lock, ready);
    woken = false;
    return !stopping;
  }

  void run() {
    for (std::optional<Millis> wait = Millis{0}; sleep(wait);) wait = step();
    std::lock_guard lock(mutex);
    ended = true;
    changed.notify_all();
  }
};

Worker::Worker(std::function<std::optional<Millis>()> step, std::function<void()> interrupt)
    : shared_(std::make_shared<Shared>()) {
  shared_->step = std::move(step);
  shared_->interrupt = std::move(interrupt);
  std::thread thread([shared = shared_] { shared->run(); });
  pthread_setname_np(thread.native_handle(), "delivery");
  thread.detach();  // waited for by `ended`, so that waiting can have a limit
}

Worker::~Worker() { stop(std::chrono::seconds{2}); }

void Worker::wake() {
  std::lock_guard lock(shared_->mutex);
  shared_->woken = true;
  shared_->changed.notify_all();
}

bool Worker::stop(Millis limit) {
  if (!shared_->interrupt) return true;  // stopped before
  const auto deadline = std::chrono::steady_clock::now() + limit;
  std::unique_lock lock(shared_->mutex);
  shared_->stopping = true;
  shared_->changed.notify_all();
  while (!shared_->ended && std::chrono::steady_clock::now() < deadline) {
    lock.unlock();
    shared_->interrupt();
    lock.lock();
    shared_->changed.wait_for(lock, kInterruptEvery, [this] { return shared_->ended; });
  }
  if (!shared_->ended) return false;
  shared_->step = nullptr;  // what they own goes on this thread, not on the one that is ending
  shared_->interrupt = nullptr;
  return true;
}

}  // namespace coilward
