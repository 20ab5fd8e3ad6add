// The outbox of one notifier in state.db. Each runner has its own, because each has its own connection.
#pragma once

#include <memory>
#include <string>

#include "daemon/alerts/alert_book.h"
#include "daemon/config/config.h"
#include "daemon/delivery/outbox_source.h"
#include "daemon/history/outbox.h"

namespace coilward {

class StoreOutbox final : public OutboxSource {
 public:
  StoreOutbox(Outbox table, std::string notifier)
      : table_(std::move(table)), notifier_(std::move(notifier)) {}

  Result<std::optional<WaitingAlert>> next(UtcTime now) override;
  Result<UtcTime> next_time() override { return table_.next_time(notifier_); }
  Result<bool> done(std::int64_t row, UtcTime now, const std::string& words) override {
    return table_.done(row, now, words);
  }
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) override {
    return table_.retry(row, next, words);
  }
  Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words) override {
    return table_.refused(row, now, words);
  }
  Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words) override {
    return table_.give_up(row, now, words);
  }

 private:
  Outbox table_;
  std::string notifier_;
};

// The rows to queue for an alert: one for each notifier whose `at_least` it reaches. A test goes to nobody
// this way (NotifierRunner::test). now: of the queueing, from which 24 hours are counted.
std::vector<OutboxRow> outbox_rows(const Alert& alert, const Config& config, UtcTime now);

// For KeeperEvents::on_outbox_unsaved.
WaitingAlert waiting_alert(const OutboxRow& row);

}  // namespace coilward
