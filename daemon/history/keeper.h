// The thread that writes. The core posts what happened; the keeper commits it in the order history.db, then
// state.db, and says when it is on the disk.
//
// Marks. A unit carries the spool sequence up to which it is complete. After any kill the history's mark H is
// at or after the state's mark S, and everything up to H is in history.db exactly once. A restart restores
// the snapshot, replays spool records after S through the pipeline, and does not post again the readings of
// records up to H (runs are replaced, findings and outbox rows are the same ids: posting those again is
// harmless). New spool sequences must start after both marks, also when the spool itself was lost.
//
// When the disk is full or fails: units wait in memory and are merged; raw readings beyond
// KeeperOptions::most_waiting_bytes are dropped, oldest first, and counted; decisions are kept. State goes on
// without history (findings and alerts, but not snapshot and mark, which would break H >= S). A small spare
// file is given up first, so that alerts have room. Retries are 1, 2, 4 ... 60 s apart, and it recovers by
// itself.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/clock.h"
#include "daemon/base/result.h"
#include "daemon/history/channel_names.h"
#include "daemon/history/history_store.h"
#include "daemon/history/state_store.h"

namespace coilward {

// One commit. Move it in; what is not filled is not touched.
struct CommitUnit {
  std::vector<Reading> readings;
  std::vector<Run> runs;
  std::vector<Finding> findings;  // each form in order
  std::vector<NormalDraw> draws;
  std::vector<OutboxRow> outbox;
  std::vector<Acknowledgement> acknowledgements;
  std::vector<Pause> pauses;
  std::vector<TestReadingRow> test_readings;
  std::vector<std::pair<std::string, std::string>> values;
  // JSON of everything learned and open as of `mark`; empty: none with this unit. The state's mark only moves
  // with a snapshot: without one, a restart would skip what no snapshot holds.
  std::string snapshot;
  std::uint64_t mark = 0;  // spool sequence up to which this and all before is complete; 0: says nothing
};

struct KeeperOptions {
  std::string directory;  // the caller holds its lock (StateDirectory)
  std::string site;       // Config::site.id
  ChannelNames names;     // for a changed configuration: stop and make another keeper
  int raw_days = 400;     // Config::history.raw_days
  // Raw readings held while the disk fails, twice at most: 90 minutes of 24 zones at 1 Hz.
  std::size_t most_waiting_bytes = 4'194'304;
  std::chrono::milliseconds first_retry{1000};
  std::uint32_t most_history_pages = 0;  // 0: no ceiling (tests set one to fill the "disk")
  std::uint32_t most_state_pages = 0;
  std::size_t spare_bytes = 2u << 20;  // size of the spare file; 0: none
};

struct KeeperMarks {
  std::uint64_t history = 0;  // H
  std::uint64_t state = 0;    // S
};

struct KeeperHealth {
  bool history_ok = true;
  bool state_ok = true;
  std::string trouble;     // one sentence, "disk full: ..." when it is; empty when both are well
  UtcTime since = kNever;  // of the trouble
  UtcTime last_commit = kNever;
  std::uint64_t commits = 0;
  std::uint64_t dropped_readings = 0;  // given up for want of disk
  std::size_t waiting_readings = 0;
  HistoryCounts history;
  std::vector<std::string> repairs;  // files found damaged since start: what, and where they lie now. After a
                                     // repair of state.db that came later than start, open each Outbox anew.
};

// Called on the keeper's thread: post to your own. They must not call stop().
struct KeeperEvents {
  std::function<void(std::uint64_t mark)>
      on_complete;                  // everything up to the mark is on the disk: trim the spool
  std::function<void()> on_outbox;  // outbox rows were committed: wake the runners
  // Outbox rows that could not be saved for want of disk, once each: deliver them from memory. They are
  // queued on the disk when it recovers; a runner that delivered one meanwhile marks it done then.
  std::function<void(const std::vector<OutboxRow>&)> on_outbox_unsaved;
  std::function<void(const KeeperHealth&)> on_health;  // trouble came, changed or went
};

// Thread: any for the member functions.
class Keeper {
 public:
  // Opens both files on the caller's thread, then starts its own. Files repaired at open are in
  // health().repairs, without an event. Errors as HistoryStore::open and
  // StateStore::open. `clock` outlives it: its UTC decides which hours are over (replay: the recording's).
  static Result<std::unique_ptr<Keeper>> start(KeeperOptions options, KeeperEvents events,
                                               const Clock& clock);
  // As stop(0 s).
  ~Keeper();

  // As they were at open.
  KeeperMarks marks() const;
  const Snapshot& snapshot() const;

  // Never waits for the disk.
  void post(CommitUnit unit);
  // Waits until what was posted before is committed; false: not within the limit.
  bool flush(std::chrono::milliseconds limit);
  // Commits what waits, for at most `limit` (at least one attempt), and ends the thread. false: something
  // could not be committed.
  bool stop(std::chrono::milliseconds limit);

  KeeperHealth health() const;
  // Readings posted and not committed yet, of one channel: for HistoryReader's `pending`.
  std::vector<Reading> waiting(Channel channel) const;

 private:
  class Impl;
  explicit Keeper(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
