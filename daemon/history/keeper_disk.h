// The keeper's two files and the order in which they are written. Inside this folder only. Thread: one.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/history/keeper_work.h"
#include "daemon/history/spare_file.h"

namespace coilward {

class KeeperDisk {
 public:
  static Result<std::unique_ptr<KeeperDisk>> open(const KeeperOptions& options);

  // Commits what can be.
  struct Outcome {
    KeeperWritten written;
    std::optional<Error> history;  // why that part was not
    std::optional<Error> state;
    std::optional<std::uint64_t> complete;  // the state's mark moved here
    bool outbox_written = false;
    bool ok() const { return !history && !state; }
  };
  Outcome commit(const KeeperWork& work, UtcTime now);
  // One step of upkeep; false: nothing more to do, or it failed.
  bool tidy(UtcTime now);

  KeeperMarks marks() const { return marks_; }
  const Snapshot& snapshot() const { return snapshot_; }
  HistoryCounts counts() const;
  const std::vector<std::string>& repairs() const { return repairs_; }

 private:
  explicit KeeperDisk(const KeeperOptions& options);
  Result<bool> open_both();
  Result<bool> open_history();
  Result<bool> open_state();
  void commit_history(const KeeperWork& work, Outcome& outcome);
  void commit_state(const KeeperWork& work, UtcTime now, Outcome& outcome);
  Result<bool> write_state(const KeeperWork& work, UtcTime now, bool with_snapshot);
  void replace_damaged(const Error& error, UtcTime now);

  const KeeperOptions options_;
  std::unique_ptr<HistoryStore> history_;  // null after a repair that failed, until one succeeds
  std::unique_ptr<StateStore> state_;
  SpareFile spare_;
  KeeperMarks marks_;
  Snapshot snapshot_;
  HistoryCounts earlier_;  // of files that were replaced
  std::vector<std::string> repairs_;
};

}  // namespace coilward
