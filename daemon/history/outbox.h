// What a delivery runner needs of state.db: the alerts waiting for its notifier, and how each went. Rows get
// in with the finding they tell of (StateBatch::outbox). Also how far each exporter has come.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/state_rows.h"

namespace coilward {

// Its own connection, so that each runner thread has one. Thread: one at a time. Every change is synced when
// the call returns. Errors: world; a change that failed may be tried again as it is.
class Outbox {
 public:
  // The file must exist (StateStore::open makes it); not_found otherwise.
  static Result<Outbox> open(const std::string& path);
  Outbox(Outbox&&) noexcept;
  Outbox& operator=(Outbox&&) noexcept;
  ~Outbox();

  // The pending row whose turn is next: due and next attempt not after now, oldest due first. nullopt: none.
  Result<std::optional<OutboxItem>> next(const std::string& notifier, UtcTime now) const;
  // When next() will have something; kNever: nothing is pending.
  Result<UtcTime> next_time(const std::string& notifier) const;

  Result<bool> done(std::int64_t row, UtcTime now, const std::string& words);
  // Counts an attempt and waits until `next`.
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words);
  Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words);
  Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words);
  // Queues outside of a finding: `test-alert` and the like.
  Result<bool> queue(const OutboxRow& row);

  Result<OutboxCounts> counts(const std::string& notifier) const;
  // Latest first, any state; all notifiers when the name is empty.
  Result<std::vector<OutboxItem>> latest(const std::string& notifier, std::size_t limit) const;
  // Deletes rows that ended before the instant; how many.
  Result<std::size_t> forget(UtcTime ended_before);

  // How far an exporter has come: text of the exporter runner's own making. Empty: nothing yet.
  Result<std::string> export_mark(const std::string& exporter) const;
  Result<bool> set_export_mark(const std::string& exporter, const std::string& position);

 private:
  class Impl;
  explicit Outbox(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
