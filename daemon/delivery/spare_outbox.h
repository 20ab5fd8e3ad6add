// An outbox that goes on when its table cannot be written: alerts that could not be saved are delivered from
// memory, and what was delivered is not delivered again because the mark failed.
#pragma once

#include <deque>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "daemon/delivery/outbox_source.h"

namespace coilward {

inline constexpr std::size_t kMostSpare = 256;        // alerts held in memory; beyond, the oldest goes
inline constexpr std::size_t kMostRemembered = 1024;  // ids delivered from memory
inline constexpr Millis kMarkAgain = std::chrono::seconds{30};

// Thread: put() from any, the rest from the runner's.
class SpareOutbox final : public OutboxSource {
 public:
  explicit SpareOutbox(std::unique_ptr<OutboxSource> table) : table_(std::move(table)) {}

  // An alert that the table could not take. row and attempts are ignored. It may appear in the table later.
  void put(WaitingAlert alert);
  std::uint64_t dropped() const;
  // Fates that the table has not taken yet. [the runner's thread]
  std::size_t unmarked() const { return unmarked_.size(); }

  Result<std::optional<WaitingAlert>> next(UtcTime now) override;
  Result<UtcTime> next_time() override;
  Result<bool> done(std::int64_t row, UtcTime now, const std::string& words) override;
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) override;
  Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words) override;
  Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words) override;

 private:
  enum class Mark : std::uint8_t { done, refused, give_up, retry };
  struct Spare {
    WaitingAlert alert;
    UtcTime next = kNever;
  };
  struct Unmarked {  // a fate that the table did not take
    std::int64_t row = 0;
    Mark mark = Mark::done;
    UtcTime time = kNever;
    std::string words;
  };

  std::optional<WaitingAlert> next_spare(UtcTime now);
  bool settle(UtcTime now);
  Result<bool> write(const Unmarked& mark);
  Result<bool> end(const Unmarked& mark, UtcTime now);
  bool known(const std::string& alert) const;

  std::unique_ptr<OutboxSource> table_;
  mutable std::mutex mutex_;  // guards the next four
  std::deque<Spare> spares_;
  std::deque<std::string> delivered_;
  std::int64_t last_row_ = 0;  // rows of spares are negative
  std::uint64_t dropped_ = 0;
  std::deque<Unmarked> unmarked_;
  UtcTime mark_again_ = kNever;
};

}  // namespace coilward
