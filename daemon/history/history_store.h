// Writes history.db: raw readings, their roll-ups, and runs. Large, and may be thrown away.
//
// Readings are filed by (hour, channel). A commit adds one small row for each; when the hour is over, tidy()
// unites them into one chunk and writes the hour's roll-up, both in one transaction. Until then readers work
// roll-ups out of the small rows, so a roll-up is at any time what the raw readings say.
//
// Rule for duplicates: readings of one channel with the same time and value are one reading, within an hour
// and channel. They are united when read and when packed. Exactly-once across a kill is by the mark.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "daemon/base/result.h"
#include "daemon/history/channel_names.h"
#include "daemon/history/store_options.h"
#include "daemon/pipeline.h"

namespace coilward {

// What one commit holds. All or nothing of it is on the disk afterwards.
struct HistoryBatch {
  std::span<const Reading> readings;  // any order, any channels
  std::span<const Run> runs;          // replaces an earlier form with the same zone and start
  std::optional<std::uint64_t> mark;  // spool sequence up to which readings and runs are complete
};

struct HistoryCounts {
  std::uint64_t stored = 0;      // readings committed since open
  std::uint64_t duplicates = 0;  // of those, found to be the same as another when packed
  std::uint64_t refused = 0;     // no usable time (before 1970 or after 2199)
  std::uint64_t damaged = 0;     // rows that could not be unpacked when their hour was packed: lost
  std::uint64_t runs = 0;
};

// Thread: one at a time. Every error is Cause::world unless said: the caller keeps the batch and tries again.
// "disk full" opens the text when it is.
class HistoryStore {
 public:
  // bad_config: the file was made by a newer program, or is some other database; the text says how to go on.
  static Result<HistoryStore> open(const std::string& path, ChannelNames names, StoreOptions options = {});
  HistoryStore(HistoryStore&&) noexcept;
  HistoryStore& operator=(HistoryStore&&) noexcept;
  ~HistoryStore();

  // One transaction, on the disk (synced) when it returns. A batch with nothing in it writes nothing.
  Result<bool> commit(const HistoryBatch& batch);

  // 0: none yet.
  std::uint64_t mark() const;

  // One small step of upkeep, its own transaction: packs an hour that is over, deletes raw readings older
  // than raw_days, or gives free pages back. true: there is more to do.
  Result<bool> tidy(UtcTime now, int raw_days);

  const HistoryCounts& counts() const;
  const Repair& repair() const;

 private:
  class Impl;
  explicit HistoryStore(std::unique_ptr<Impl> impl);
  static Result<HistoryStore> open_once(const std::string& path, const ChannelNames& names,
                                        const StoreOptions& options);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
