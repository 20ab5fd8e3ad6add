#include "daemon/history/keeper_disk.h"

#include <fmt/format.h>

#include "daemon/history/database.h"
#include "daemon/history/repair.h"
#include "daemon/history/state_directory.h"

namespace coilward {
namespace {

void add(HistoryCounts& to, const HistoryCounts& more) {
  to.stored += more.stored;
  to.duplicates += more.duplicates;
  to.refused += more.refused;
  to.damaged += more.damaged;
  to.runs += more.runs;
}

bool is_full(const Error& error) { return error.what.starts_with("disk full: "); }

}  // namespace

KeeperDisk::KeeperDisk(const KeeperOptions& options)
    : options_(options), spare_(options.directory, options.spare_bytes) {}

Result<std::unique_ptr<KeeperDisk>> KeeperDisk::open(const KeeperOptions& options) {
  std::unique_ptr<KeeperDisk> disk(new KeeperDisk(options));
  auto opened = disk->open_both();
  if (!opened && is_full(opened.error()) && disk->spare_.give()) opened = disk->open_both();
  if (!opened) return opened.error();
  disk->marks_.history = disk->history_->mark();
  if (auto snapshot = disk->state_->snapshot())
    disk->snapshot_ = std::move(*snapshot);
  else  // the daemon must start: it learns anew, and says so
    disk->repairs_.push_back(fmt::format("what was learned could not be read: {}", snapshot.error().what));
  disk->marks_.state = disk->snapshot_.mark;
  return disk;
}

Result<bool> KeeperDisk::open_both() {
  if (auto opened = open_history(); !opened) return opened;
  return open_state();
}

Result<bool> KeeperDisk::open_history() {
  auto history = HistoryStore::open(history_path(options_.directory), options_.names,
                                    {.most_pages = options_.most_history_pages});
  if (!history) return history.error();
  history_ = std::make_unique<HistoryStore>(std::move(*history));
  if (!history_->repair().what.empty()) repairs_.push_back(history_->repair().what);
  return true;
}

Result<bool> KeeperDisk::open_state() {
  auto state = StateStore::open(state_path(options_.directory), options_.site,
                                {.most_pages = options_.most_state_pages});
  if (!state) return state.error();
  state_ = std::make_unique<StateStore>(std::move(*state));
  if (!state_->repair().what.empty()) repairs_.push_back(state_->repair().what);
  return true;
}

HistoryCounts KeeperDisk::counts() const {
  auto counts = earlier_;
  if (history_) add(counts, history_->counts());
  return counts;
}

KeeperDisk::Outcome KeeperDisk::commit(const KeeperWork& work, UtcTime now) {
  Outcome outcome;
  commit_history(work, outcome);
  commit_state(work, now, outcome);
  if (outcome.history) replace_damaged(*outcome.history, now);
  if (outcome.ok()) spare_.fill();
  return outcome;
}

void KeeperDisk::commit_history(const KeeperWork& work, Outcome& outcome) {
  if (!work.history_waits()) return;
  const auto& unit = work.unit;
  if (!history_)
    if (auto opened = open_history(); !opened) return void(outcome.history = opened.error());
  if (!spare_.roomy()) {  // what little there is belongs to alerts
    outcome.history =
        Error{Cause::world, fmt::format("disk full: no room for {}", history_path(options_.directory))};
    return;
  }
  const auto mark = unit.mark != 0 ? std::optional(unit.mark) : std::nullopt;
  if (const auto done = history_->commit({unit.readings, unit.runs, mark}); !done)
    return void(outcome.history = done.error());
  if (mark) marks_.history = *mark;
  outcome.written.history = true;
}

// Without the history of the same mark, snapshot and mark wait: H must not fall behind S.
void KeeperDisk::commit_state(const KeeperWork& work, UtcTime now, Outcome& outcome) {
  const bool with_snapshot = !outcome.history && !work.unit.snapshot.empty();
  if (!with_snapshot && !work.decisions_wait()) return;
  auto done = write_state(work, now, with_snapshot);
  if (!done && is_full(done.error()) && spare_.give()) done = write_state(work, now, with_snapshot);
  if (!done) return void(outcome.state = done.error());
  outcome.outbox_written = !work.unit.outbox.empty();
  if (with_snapshot && work.snapshot_mark != 0) outcome.complete = marks_.state = work.snapshot_mark;
  outcome.written.state = true;
  outcome.written.snapshot = with_snapshot;
}

Result<bool> KeeperDisk::write_state(const KeeperWork& work, UtcTime now, bool with_snapshot) {
  const auto& unit = work.unit;
  StateBatch batch;
  batch.now = now;
  batch.findings = unit.findings;
  batch.draws = unit.draws;
  batch.outbox = unit.outbox;
  batch.acknowledgements = unit.acknowledgements;
  batch.pauses = unit.pauses;
  batch.test_readings = unit.test_readings;
  batch.values = unit.values;
  if (with_snapshot) batch.snapshot = unit.snapshot;
  if (with_snapshot && work.snapshot_mark != 0) batch.mark = work.snapshot_mark;
  if (auto done = state_->commit(batch); done || !says_damaged(done.error())) return done;
  if (auto opened = open_state(); !opened) return opened.error();  // checks, and repairs what it finds
  return state_->commit(batch);
}

// history.db may be thrown away: a damaged one is moved aside as it is, and the next attempt makes a new one.
void KeeperDisk::replace_damaged(const Error& error, UtcTime now) {
  if (!says_damaged(error) || !history_) return;
  add(earlier_, history_->counts());
  history_.reset();
  if (const auto moved = move_damaged_aside(history_path(options_.directory), now))
    repairs_.push_back(moved->what);
}

bool KeeperDisk::tidy(UtcTime now) {
  if (!history_ || !spare_.roomy()) return false;
  const auto more = history_->tidy(now, options_.raw_days);
  if (!more) replace_damaged(more.error(), now);
  return more && *more;
}

}  // namespace coilward
