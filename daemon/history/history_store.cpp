#include "daemon/history/history_store.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"
#include "daemon/history/history_tidy.h"
#include "daemon/history/repair.h"
#include "daemon/history/rollup.h"
#include "daemon/history/row_parts.h"

namespace coilward {
namespace {

// 1970 up to and without 2200: outside, a clock is wrong, whatever it says.
constexpr std::int64_t kLatestMs = 7'258'118'400'000;
bool usable(UtcTime time) { return to_ms(time) >= 0 && to_ms(time) < kLatestMs; }

}  // namespace

class HistoryStore::Impl {
 public:
  Impl(OpenedFile file, std::string path, ChannelNames names)
      : repair_(std::move(file.repair)),
        path_(std::move(path)),
        names_(std::move(names)),
        database_(std::move(file.database)),
        tidy_(*database_),
        insert_batch_(*database_, "INSERT INTO batch (id, body) VALUES (?, ?)"),
        next_part_(*database_, "SELECT max(id) + 1 FROM batch WHERE id >= ? AND id < ?"),
        insert_run_(
            *database_,
            "INSERT INTO run (zone, start_ms, end_ms, ended, hold_amps, json) VALUES (?, ?, ?, ?, ?, ?) "
            "ON CONFLICT (zone, start_ms) DO UPDATE SET end_ms = excluded.end_ms, "
            "ended = excluded.ended, hold_amps = excluded.hold_amps, json = excluded.json"),
        set_mark_(
            *database_,
            "INSERT INTO mark (name, value) VALUES ('spool', ?) ON CONFLICT (name) DO UPDATE SET value = "
            "excluded.value") {
    mark_ = read_mark();
  }

  Result<bool> commit(const HistoryBatch& batch) {
    if (batch.readings.empty() && batch.runs.empty() && !batch.mark) return false;
    const auto before = channel_ids_;
    auto outcome = guarded(path_, [&] { return write(batch); });
    if (!outcome) channel_ids_ = before;  // rows that named new channels were rolled back
    return outcome;
  }

  Result<bool> tidy(UtcTime now, int raw_days) {
    return guarded(path_, [&] {
      const auto step = tidy_.step(now, raw_days);
      counts_.duplicates += step.duplicates;
      counts_.damaged = tidy_.damaged();
      return step.more;
    });
  }

  std::uint64_t mark_ = 0;
  HistoryCounts counts_;
  Repair repair_;

 private:
  using Channels = std::map<std::int64_t, std::vector<Reading>>;
  using Filed = std::map<std::int64_t, Channels>;  // by hour

  bool write(const HistoryBatch& batch) {
    HistoryCounts counts = counts_;
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    for (auto& [hour, channels] : file(batch.readings, counts)) write_hour(hour, channels);
    for (const auto& run : batch.runs) write_run(run);
    counts.runs += batch.runs.size();
    if (batch.mark) set_mark_.run(*batch.mark);
    transaction.commit();
    counts_ = counts;
    if (batch.mark) mark_ = *batch.mark;
    return true;
  }

  Filed file(std::span<const Reading> readings, HistoryCounts& counts) {
    Filed filed;
    for (const auto& reading : readings) {
      if (!usable(reading.time)) {
        ++counts.refused;
        continue;
      }
      filed[hour_of(reading.time)][channel_id(reading.channel)].push_back(reading);
      ++counts.stored;
    }
    return filed;
  }

  void write_hour(std::int64_t hour, Channels& channels) {
    std::vector<KeptPart> parts;
    for (auto& [channel, readings] : channels) {
      std::stable_sort(readings.begin(), readings.end(),
                       [](const Reading& a, const Reading& b) { return a.time < b.time; });
      each_chunk(readings, Packing::quick, [&](std::string chunk) {
        parts.push_back({channel, std::move(chunk)});
      });
    }
    insert_batch_.run(next_part(hour), Blob{pack_parts(parts)});
  }

  std::int64_t next_part(std::int64_t hour) {
    next_part_.start(batch_id(hour), batch_id(hour + 1));
    const bool any = next_part_.next() && !next_part_.column(0).isNull();
    const auto id = any ? next_part_.column(0).getInt64() : batch_id(hour);
    next_part_.done();
    if (id >= batch_id(hour + 1))
      throw SQLite::Exception("more commits in an hour than can be filed", SQLITE_TOOBIG);
    return id;
  }

  void write_run(const Run& run) {
    insert_run_.run(run.zone, to_ms(run.start), to_ms(run.end), run_end_name(run.ended), run.hold_amps,
                    run_to_json(run).dump());
  }

  std::int64_t channel_id(Channel channel) {
    if (channel_ids_.empty()) channel_ids_.resize(kChannelSlots, -1);
    auto& id = channel_ids_[channel_slot(channel)];
    if (id >= 0) return id;
    const auto name = names_.text(channel);
    Prepared insert(*database_, "INSERT OR IGNORE INTO channel (name) VALUES (?)");
    insert.run(name);
    Prepared select(*database_, "SELECT id FROM channel WHERE name = ?");
    select.start(name);
    if (!select.next() || select.column(0).getInt64() >= kAllChannels)
      throw SQLite::Exception("more channels than a history file can name", SQLITE_ERROR);
    return id = select.column(0).getInt64();
  }

  std::uint64_t read_mark() {
    SQLite::Statement select(*database_, "SELECT value FROM mark WHERE name = 'spool'");
    return select.executeStep() ? static_cast<std::uint64_t>(select.getColumn(0).getInt64()) : 0;
  }

  std::string path_;
  ChannelNames names_;
  std::unique_ptr<SQLite::Database> database_;
  HistoryTidy tidy_;
  Prepared insert_batch_, next_part_, insert_run_, set_mark_;
  std::vector<std::int64_t> channel_ids_;  // by channel_slot; -1: not looked up yet
};

HistoryStore::HistoryStore(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
HistoryStore::HistoryStore(HistoryStore&&) noexcept = default;
HistoryStore& HistoryStore::operator=(HistoryStore&&) noexcept = default;
HistoryStore::~HistoryStore() = default;

Result<HistoryStore> HistoryStore::open(const std::string& path, ChannelNames names, StoreOptions options) {
  options.mode = OpenMode::read_write;
  auto store = open_once(path, names, options);
  if (store || !says_damaged(store.error())) return store;
  // Sound at its head but not where the first look goes: as if it had not opened at all.
  auto moved = move_damaged_aside(path, options.now);
  if (!moved) return moved.error();
  store = open_once(path, names, options);
  if (store) store->impl_->repair_ = std::move(*moved);
  return store;
}

Result<HistoryStore> HistoryStore::open_once(const std::string& path, const ChannelNames& names,
                                             const StoreOptions& options) {
  auto file = open_file(path, kHistoryFile, options);
  if (!file) return file.error();
  return guarded(path, [&] { return HistoryStore(std::make_unique<Impl>(std::move(*file), path, names)); });
}

Result<bool> HistoryStore::commit(const HistoryBatch& batch) { return impl_->commit(batch); }
std::uint64_t HistoryStore::mark() const { return impl_->mark_; }
Result<bool> HistoryStore::tidy(UtcTime now, int raw_days) { return impl_->tidy(now, raw_days); }
const HistoryCounts& HistoryStore::counts() const { return impl_->counts_; }
const Repair& HistoryStore::repair() const { return impl_->repair_; }

}  // namespace coilward
