#include "daemon/history/state_store.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/history/squeeze.h"
#include "daemon/history/state_schema.h"

namespace coilward {
namespace {

// A snapshot is some 100 KB; this bounds what a damaged length can ask for.
constexpr std::size_t kMostSnapshotBytes = 256u << 20;

constexpr const char* kPutFinding =
    "INSERT INTO finding (id, fault, opened_ms, updated_ms, closed_ms, json) VALUES (?, ?, ?, ?, nullif(?, "
    "0), ?) "
    "ON CONFLICT (id) DO UPDATE SET fault = excluded.fault, updated_ms = excluded.updated_ms, "
    "closed_ms = excluded.closed_ms, json = excluded.json";

// A row that an older program wrote and this one cannot read is left out, not fatal.
template <class T, class Read>
void read_into(std::vector<T>& out, Read&& read) {
  try {
    out.push_back(read());
  } catch (const nlohmann::json::exception&) {
  }
}

Json json_of(const SQLite::Column& column) { return Json::parse(column.getString()); }

}  // namespace

class StateStore::Impl {
 public:
  Impl(OpenedFile file, std::string path, std::string site)
      : path_(std::move(path)), site_(std::move(site)), repair_(std::move(file.repair)) {
    database_ = std::move(file.database);
  }

  template <class Body>
  auto guard(Body&& body) const {
    return guarded(path_, std::forward<Body>(body));
  }
  SQLite::Statement query(const char* sql) const { return SQLite::Statement(*database_, sql); }
  Prepared prepare(const char* sql) const { return Prepared(*database_, sql); }

  bool write(const StateBatch& batch) {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    for (const auto& finding : batch.findings) write_finding(finding);
    write_draws(batch);
    write_outbox(batch);
    write_people(batch);
    write_values(batch);
    if (batch.snapshot) write_snapshot(*batch.snapshot, batch.now);
    if (batch.mark) prepare("INSERT OR REPLACE INTO mark (name, value) VALUES ('spool', ?)").run(*batch.mark);
    transaction.commit();
    return true;
  }

  std::uint64_t mark() const {
    auto select = query("SELECT value FROM mark WHERE name = 'spool'");
    return select.executeStep() ? static_cast<std::uint64_t>(select.getColumn(0).getInt64()) : 0;
  }

  Snapshot snapshot() const {
    Snapshot found;
    found.mark = mark();
    auto select = query("SELECT taken_ms, body FROM snapshot");
    if (!select.executeStep()) return found;
    ByteReader in(bytes_of(select.getColumn(1)));
    auto json = take_squeezed(in, kMostSnapshotBytes);
    if (!json) throw SQLite::Exception("the snapshot cannot be unpacked", SQLITE_CORRUPT);
    found.json = std::move(*json);
    found.taken = from_ms(select.getColumn(0).getInt64());
    return found;
  }

  std::vector<Finding> findings(bool closed_too, std::size_t limit) const {
    auto select = query(closed_too ? "SELECT json FROM finding ORDER BY opened_ms DESC, id LIMIT ?"
                                   : "SELECT json FROM finding WHERE closed_ms IS NULL "
                                     "ORDER BY opened_ms DESC, id LIMIT ?");
    select.bind(1, static_cast<std::int64_t>(limit));
    std::vector<Finding> found;
    while (select.executeStep())
      read_into(found, [&] { return finding_from_json(json_of(select.getColumn(0))); });
    return found;
  }

  const Repair& repair() const { return repair_; }

 private:
  void write_finding(const Finding& f) {
    const auto json = finding_to_json(f, site_).dump();
    const auto closed = f.closed == kNever ? 0 : to_ms(f.closed);
    prepare(kPutFinding).run(f.id, fault_name(f.fault), to_ms(f.opened), to_ms(f.updated), closed, json);
    Finding judged = f;
    judged.forecast.reset();  // another forecast is no other judgement
    prepare("INSERT OR IGNORE INTO finding_change (finding, at_ms, json) VALUES (?, ?, ?)")
        .run(f.id, to_ms(f.updated), finding_to_json(judged, site_).dump());
  }

  void write_draws(const StateBatch& batch) {
    auto put = prepare("INSERT OR REPLACE INTO normal_draw (zone, updated_ms, json) VALUES (?, ?, ?)");
    for (const auto& draw : batch.draws)
      put.run(draw.zone, to_ms(batch.now), normal_draw_to_json(draw).dump());
  }

  void write_outbox(const StateBatch& batch) {
    auto put = prepare(
        "INSERT OR IGNORE INTO outbox (alert, notifier, json, due_ms, next_ms) VALUES (?1, ?2, ?3, ?4, ?4)");
    for (const auto& row : batch.outbox) put.run(row.alert, row.notifier, row.json, to_ms(row.due));
  }

  void write_people(const StateBatch& batch) {
    auto acknowledge =
        prepare("INSERT OR REPLACE INTO acknowledgement (finding, by, at_ms) VALUES (?, ?, ?)");
    for (const auto& a : batch.acknowledgements) acknowledge.run(a.finding, a.by, to_ms(a.at));
    auto pause = prepare("INSERT OR IGNORE INTO pause (from_ms, until_ms, by, reason) VALUES (?, ?, ?, ?)");
    for (const auto& p : batch.pauses) pause.run(to_ms(p.from), to_ms(p.until), p.by, p.reason);
    auto test = prepare("INSERT OR IGNORE INTO test_reading (finding, at_ms, json) VALUES (?, ?, ?)");
    for (const auto& t : batch.test_readings) test.run(t.finding, to_ms(t.at), t.json);
  }

  void write_values(const StateBatch& batch) {
    auto put = prepare("INSERT OR REPLACE INTO setting (key, value) VALUES (?, ?)");
    auto drop = prepare("DELETE FROM setting WHERE key = ?");
    for (const auto& [key, value] : batch.values) {
      if (value.empty())
        drop.run(key);
      else
        put.run(key, value);
    }
  }

  void write_snapshot(const std::string& json, UtcTime now) {
    std::string body;
    put_squeezed(body, json);
    prepare("INSERT OR REPLACE INTO snapshot (id, taken_ms, size, body) VALUES (1, ?, ?, ?)")
        .run(to_ms(now), json.size(), Blob{body});
  }

  std::string path_, site_;
  Repair repair_;
  std::unique_ptr<SQLite::Database> database_;
};

StateStore::StateStore(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
StateStore::StateStore(StateStore&&) noexcept = default;
StateStore& StateStore::operator=(StateStore&&) noexcept = default;
StateStore::~StateStore() = default;

Result<StateStore> StateStore::open(const std::string& path, std::string site, StoreOptions options) {
  auto file = open_file(path, kStateFile, options);
  if (!file) return file.error();
  return StateStore(std::make_unique<Impl>(std::move(*file), path, std::move(site)));
}

Result<bool> StateStore::commit(const StateBatch& batch) {
  return impl_->guard([&] { return impl_->write(batch); });
}

Result<std::uint64_t> StateStore::mark() const {
  return impl_->guard([&] { return impl_->mark(); });
}

Result<Snapshot> StateStore::snapshot() const {
  return impl_->guard([&] { return impl_->snapshot(); });
}

Result<std::vector<Finding>> StateStore::findings(bool closed_too, std::size_t limit) const {
  return impl_->guard([&] { return impl_->findings(closed_too, limit); });
}

Result<std::optional<Finding>> StateStore::finding(const std::string& id) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT json FROM finding WHERE id = ?");
    select.bind(1, id);
    return select.executeStep() ? std::optional(finding_from_json(json_of(select.getColumn(0))))
                                : std::nullopt;
  });
}

Result<std::vector<FindingChange>> StateStore::changes(const std::string& id) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT at_ms, json FROM finding_change WHERE finding = ? ORDER BY id");
    select.bind(1, id);
    std::vector<FindingChange> found;
    while (select.executeStep())
      read_into(found, [&] {
        return FindingChange{from_ms(select.getColumn(0).getInt64()),
                             finding_from_json(json_of(select.getColumn(1)))};
      });
    return found;
  });
}

Result<std::vector<PlacedFinding>> StateStore::changes_after(std::int64_t place, std::size_t limit) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT id, json FROM finding_change WHERE id > ? ORDER BY id LIMIT ?");
    select.bind(1, place);
    select.bind(2, static_cast<std::int64_t>(limit));
    std::vector<PlacedFinding> found;
    while (select.executeStep())
      read_into(found, [&] {
        return PlacedFinding{select.getColumn(0).getInt64(), finding_from_json(json_of(select.getColumn(1)))};
      });
    return found;
  });
}

Result<std::int64_t> StateStore::last_change() const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT coalesce(max(id), 0) FROM finding_change");
    select.executeStep();
    return std::int64_t{select.getColumn(0).getInt64()};
  });
}

Result<std::vector<NormalDraw>> StateStore::normal_draws() const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT json FROM normal_draw ORDER BY zone");
    std::vector<NormalDraw> found;
    while (select.executeStep())
      read_into(found, [&] { return normal_draw_from_json(json_of(select.getColumn(0))); });
    return found;
  });
}

Result<std::vector<Acknowledgement>> StateStore::acknowledgements() const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT finding, by, at_ms FROM acknowledgement ORDER BY at_ms");
    std::vector<Acknowledgement> found;
    while (select.executeStep())
      found.push_back({select.getColumn(0).getString(), select.getColumn(1).getString(),
                       from_ms(select.getColumn(2).getInt64())});
    return found;
  });
}

Result<std::vector<Pause>> StateStore::pauses(UtcTime ending_after) const {
  return impl_->guard([&] {
    auto select =
        impl_->query("SELECT from_ms, until_ms, by, reason FROM pause WHERE until_ms > ? ORDER BY from_ms");
    select.bind(1, to_ms(ending_after));
    std::vector<Pause> found;
    while (select.executeStep())
      found.push_back({from_ms(select.getColumn(0).getInt64()), from_ms(select.getColumn(1).getInt64()),
                       select.getColumn(2).getString(), select.getColumn(3).getString()});
    return found;
  });
}

Result<std::vector<TestReadingRow>> StateStore::test_readings(const std::string& finding) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT at_ms, json FROM test_reading WHERE finding = ? ORDER BY id");
    select.bind(1, finding);
    std::vector<TestReadingRow> found;
    while (select.executeStep())
      found.push_back({finding, from_ms(select.getColumn(0).getInt64()), select.getColumn(1).getString()});
    return found;
  });
}

Result<std::optional<std::string>> StateStore::value(const std::string& key) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT value FROM setting WHERE key = ?");
    select.bind(1, key);
    return select.executeStep() ? std::optional(select.getColumn(0).getString()) : std::nullopt;
  });
}

Result<std::vector<std::string>> StateStore::values_under(const std::string& prefix,
                                                          std::size_t limit) const {
  return impl_->guard([&] {
    auto select =
        impl_->query("SELECT value FROM setting WHERE substr(key, 1, ?) = ? ORDER BY key DESC LIMIT ?");
    select.bind(1, static_cast<std::int64_t>(prefix.size()));
    select.bind(2, prefix);
    select.bind(3, static_cast<std::int64_t>(limit));
    std::vector<std::string> found;
    while (select.executeStep()) found.push_back(select.getColumn(0).getString());
    return found;
  });
}

const Repair& StateStore::repair() const { return impl_->repair(); }

}  // namespace coilward
