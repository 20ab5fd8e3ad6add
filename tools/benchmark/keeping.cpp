#include "tools/benchmark/keeping.h"

#include <fmt/format.h>
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdlib>
#include <iostream>

#include "daemon/history/edges.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/history_store.h"

namespace coilward::bench {
namespace {

constexpr int kRawDays = 400;

[[noreturn]] void give_up(const std::string& why) {
  std::cerr << "bench: " << why << "\n";
  std::exit(1);
}

class CoilwardKeeping final : public Keeping {
 public:
  explicit CoilwardKeeping(std::string path) : path_(std::move(path)) {}

  void commit(std::span<const Reading> readings, UtcTime now) override {
    mark_ += readings.size();
    if (const auto done = store().commit({readings, {}, mark_}); !done) give_up(done.error().what);
    tidy(now);
  }
  void finish(UtcTime now) override {
    tidy(now);
    store_.reset();
  }
  std::size_t thin(int zone, UtcTime from, UtcTime until, int points) override {
    const double every_s = std::chrono::duration<double>(until - from).count() / points;
    const auto reader = HistoryReader::open(path_, ChannelNames(Config{}));
    const auto edges = even_edges(from, until, every_s);
    if (!reader || !edges) give_up("history.db cannot be read");
    const auto found = reader->buckets({ChannelKind::zone_current, static_cast<std::uint8_t>(zone)}, *edges);
    return found ? found->size() : 0;
  }

 private:
  HistoryStore& store() {
    if (!store_) {
      auto opened = HistoryStore::open(path_, ChannelNames(Config{}));
      if (!opened) give_up(opened.error().what);
      store_.emplace(std::move(*opened));
    }
    return *store_;
  }
  void tidy(UtcTime now) {
    for (auto more = store().tidy(now, kRawDays);; more = store().tidy(now, kRawDays)) {
      if (!more) give_up(more.error().what);
      if (!*more) return;
    }
  }
  std::string path_;
  std::optional<HistoryStore> store_;
  std::uint64_t mark_ = 0;
};

// As well as rows can do: WAL, one transaction a commit, a prepared statement, no index beside the key.
class RowKeeping final : public Keeping {
 public:
  RowKeeping(const std::string& path, bool zone_first)
      : database_(path, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE) {
    database_.execAndGet("PRAGMA journal_mode = WAL");
    database_.exec("PRAGMA synchronous = FULL");
    database_.exec(fmt::format(
        "CREATE TABLE IF NOT EXISTS reading (time_ms INTEGER NOT NULL, zone INTEGER NOT NULL, amps REAL, "
        "PRIMARY KEY ({})) WITHOUT ROWID",
        zone_first ? "zone, time_ms" : "time_ms, zone"));
    insert_.emplace(database_, "INSERT OR IGNORE INTO reading (time_ms, zone, amps) VALUES (?, ?, ?)");
  }
  void commit(std::span<const Reading> readings, UtcTime) override {
    SQLite::Transaction transaction(database_);
    for (const auto& reading : readings) {
      insert_->bind(1, static_cast<std::int64_t>(to_ms(reading.time)));
      insert_->bind(2, reading.channel.index);
      insert_->bind(3, reading.value);
      insert_->exec();
      insert_->reset();
    }
    transaction.commit();
  }
  void finish(UtcTime) override { database_.execAndGet("PRAGMA wal_checkpoint(TRUNCATE)"); }

  std::size_t thin(int zone, UtcTime from, UtcTime until, int points) override {
    const auto step = std::max<std::int64_t>(1, (to_ms(until) - to_ms(from)) / points);
    SQLite::Statement select(
        database_,
        "SELECT (time_ms - ?1) / ?2, min(amps), max(amps) FROM reading WHERE zone = ?3 AND "
        "time_ms >= ?1 AND time_ms < ?4 GROUP BY 1");
    select.bind(1, static_cast<std::int64_t>(to_ms(from)));
    select.bind(2, step);
    select.bind(3, zone);
    select.bind(4, static_cast<std::int64_t>(to_ms(until)));
    std::size_t count = 0;
    while (select.executeStep()) ++count;
    return count;
  }

 private:
  SQLite::Database database_;
  std::optional<SQLite::Statement> insert_;
};

}  // namespace

std::string file_of(const std::string& form, const std::string& directory) {
  return directory + (form == "coilward" ? "/history.db" : "/" + form + ".db");
}

std::unique_ptr<Keeping> open_keeping(const std::string& form, const std::string& directory) {
  const auto path = file_of(form, directory);
  if (form == "coilward") return std::make_unique<CoilwardKeeping>(path);
  if (form != "rows" && form != "rows-zone-first") give_up("there is no form '" + form + "'");
  return std::make_unique<RowKeeping>(path, form == "rows-zone-first");
}

}  // namespace coilward::bench
