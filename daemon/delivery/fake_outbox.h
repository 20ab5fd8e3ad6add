// An outbox in memory with the behaviour of the table, for tests: it survives the runners that use it.
#pragma once

#include <algorithm>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "daemon/delivery/outbox_source.h"

namespace coilward {

class FakeOutbox {
 public:
  enum class State { pending, done, refused, given_up };
  struct Row {
    WaitingAlert alert;
    UtcTime next = kNever;
    State state = State::pending;
    std::string words;
  };

  // (alert) is unique, as in the table.
  void queue(const std::string& alert, const std::string& json, UtcTime now) {
    std::lock_guard lock(mutex);
    for (const auto& [row, known] : rows)
      if (known.alert.alert == alert) return;
    const auto row = static_cast<std::int64_t>(rows.size()) + 1;
    rows[row] = {{row, alert, json, now, 0}, now, State::pending, {}};
  }
  std::size_t count(State state) const {
    std::lock_guard lock(mutex);
    return std::count_if(rows.begin(), rows.end(), [&](const auto& r) { return r.second.state == state; });
  }
  Row row(std::int64_t number) const {
    std::lock_guard lock(mutex);
    return rows.at(number);
  }
  void fail_writes(bool on) {
    std::lock_guard lock(mutex);
    failing = on;
  }

  mutable std::mutex mutex;
  std::map<std::int64_t, Row> rows;
  bool failing = false;
};

class FakeOutboxSource final : public OutboxSource {
 public:
  explicit FakeOutboxSource(FakeOutbox& box) : box_(box) {}

  Result<std::optional<WaitingAlert>> next(UtcTime now) override {
    std::lock_guard lock(box_.mutex);
    for (const auto& [row, item] : box_.rows)
      if (item.state == FakeOutbox::State::pending && item.next <= now) return std::optional(item.alert);
    return std::optional<WaitingAlert>();
  }
  Result<UtcTime> next_time() override {
    std::lock_guard lock(box_.mutex);
    UtcTime first = kNever;
    for (const auto& [row, item] : box_.rows)
      if (item.state == FakeOutbox::State::pending && (first == kNever || item.next < first))
        first = item.next;
    return first;
  }
  Result<bool> done(std::int64_t row, UtcTime, const std::string& words) override {
    return end(row, FakeOutbox::State::done, words);
  }
  Result<bool> refused(std::int64_t row, UtcTime, const std::string& words) override {
    return end(row, FakeOutbox::State::refused, words);
  }
  Result<bool> give_up(std::int64_t row, UtcTime, const std::string& words) override {
    return end(row, FakeOutbox::State::given_up, words);
  }
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) override {
    std::lock_guard lock(box_.mutex);
    if (box_.failing) return Error{Cause::world, "disk full"};
    auto& item = box_.rows.at(row);
    item.next = next;
    item.words = words;
    ++item.alert.attempts;
    return true;
  }

 private:
  Result<bool> end(std::int64_t row, FakeOutbox::State state, const std::string& words) {
    std::lock_guard lock(box_.mutex);
    if (box_.failing) return Error{Cause::world, "disk full"};
    box_.rows.at(row).state = state;
    box_.rows.at(row).words = words;
    return true;
  }

  FakeOutbox& box_;
};

}  // namespace coilward
