// A bounded hand-over between two threads. Full means the oldest goes and is counted: a reader that sleeps
// must never make a writer wait or memory grow.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <deque>
#include <mutex>
#include <optional>
#include <stop_token>
#include <vector>

namespace coilward {

// Thread: any number of writers and readers.
template <class T>
class Mailbox {
 public:
  // capacity: items held at most, at least 1.
  explicit Mailbox(std::size_t capacity) : capacity_(capacity) {}

  // Never blocks beyond the lock. Returns false when an older item was dropped to make room.
  bool put(T item) {
    bool roomy = true;
    {
      std::lock_guard lock(mutex_);
      if (items_.size() >= capacity_) {
        items_.pop_front();
        ++dropped_;
        roomy = false;
      }
      items_.push_back(std::move(item));
    }
    arrived_.notify_one();
    return roomy;
  }

  // Waits for an item, or until stop is requested (nullopt).
  std::optional<T> take(std::stop_token stop) {
    std::unique_lock lock(mutex_);
    if (!arrived_.wait(lock, stop, [this] { return !items_.empty(); })) return std::nullopt;
    return take_front();
  }

  std::optional<T> try_take() {
    std::lock_guard lock(mutex_);
    if (items_.empty()) return std::nullopt;
    return take_front();
  }

  std::size_t size() const {
    std::lock_guard lock(mutex_);
    return items_.size();
  }

  std::uint64_t dropped() const {
    std::lock_guard lock(mutex_);
    return dropped_;
  }

 private:
  std::optional<T> take_front() {
    std::optional<T> item(std::move(items_.front()));
    items_.pop_front();
    return item;
  }

  const std::size_t capacity_;
  mutable std::mutex mutex_;
  std::condition_variable_any arrived_;
  std::deque<T> items_;
  std::uint64_t dropped_ = 0;
};

}  // namespace coilward
