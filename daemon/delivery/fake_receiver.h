// A receiver that does as it is told, for tests.
#pragma once

#include <condition_variable>
#include <functional>
#include <mutex>
#include <string>
#include <vector>

#include "daemon/delivery/receiver.h"

namespace coilward {

class FakeReceiver final : public Receiver {
 public:
  struct Log {
    std::mutex mutex;
    std::condition_variable changed;
    std::vector<std::string> got;
    bool hang = false;  // until interrupted
    bool deaf = false;  // hangs and does not hear interrupts, until `release`
    bool release = false;
    bool interrupted = false;
    bool destroyed = false;
    std::function<Delivered(const std::string&)> answer = [](const std::string&) {
      return Delivered{Outcome::done, "250 ok"};
    };

    bool wait_for(std::size_t count, std::chrono::milliseconds limit) {
      std::unique_lock lock(mutex);
      return changed.wait_for(lock, limit, [&] { return got.size() >= count; });
    }
  };

  explicit FakeReceiver(std::shared_ptr<Log> log) : log_(std::move(log)) {}
  ~FakeReceiver() override {
    std::lock_guard lock(log_->mutex);
    log_->destroyed = true;
    log_->changed.notify_all();
  }

  Delivered deliver(std::string_view json, double) override {
    std::unique_lock lock(log_->mutex);
    log_->got.emplace_back(json);
    log_->changed.notify_all();
    log_->interrupted = false;
    if (log_->deaf) log_->changed.wait(lock, [this] { return log_->release; });
    if (log_->hang) log_->changed.wait(lock, [this] { return log_->interrupted; });
    if (log_->hang) return {Outcome::retry, "interrupted"};
    return log_->answer(log_->got.back());
  }
  void interrupt() override {
    std::lock_guard lock(log_->mutex);
    log_->interrupted = true;
    log_->changed.notify_all();
  }

 private:
  std::shared_ptr<Log> log_;
};

}  // namespace coilward
