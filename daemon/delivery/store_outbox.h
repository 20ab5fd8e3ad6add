// The outbox of one notifier in state.db. Each runner has its own, because each has its own connection.
// A damaged state.db is moved aside while runners have it open: the new one is then opened before anything is
// read or written.
#pragma once

#include <memory>
#include <string>

#include "daemon/delivery/outbox_source.h"
#include "daemon/history/file_tools.h"
#include "daemon/history/outbox.h"

namespace coilward {

class StoreOutbox final : public OutboxSource {
 public:
  StoreOutbox(Outbox table, std::string path, std::string notifier)
      : table_(std::move(table)),
        path_(std::move(path)),
        notifier_(std::move(notifier)),
        file_(file_identity(path_)) {}

  Result<std::optional<WaitingAlert>> next(UtcTime now) override;
  Result<UtcTime> next_time() override;
  Result<bool> done(std::int64_t row, UtcTime now, const std::string& words) override;
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) override;
  Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words) override;
  Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words) override;

 private:
  Result<bool> follow();
  template <class Change>
  Result<bool> mark(Change change);

  Outbox table_;
  std::string path_;
  std::string notifier_;
  std::optional<FileIdentity> file_;  // that table_ has open
};

// For KeeperEvents::on_outbox_unsaved.
WaitingAlert waiting_alert(const OutboxRow& row);

}  // namespace coilward
