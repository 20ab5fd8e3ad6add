#include "daemon/history/outbox.h"

#include <fmt/format.h>

#include "daemon/history/state_schema.h"

namespace coilward {
namespace {

constexpr std::string_view kStateNames[] = {"pending", "done", "refused", "given_up"};
constexpr const char* kColumns =
    "id, alert, notifier, json, due_ms, next_ms, attempts, state, coalesce(ended_ms, 0), words";

OutboxState state_from_name(std::string_view name) {
  for (int i = 0; i < 4; ++i)
    if (kStateNames[i] == name) return static_cast<OutboxState>(i);
  return OutboxState::given_up;
}

OutboxItem item_of(SQLite::Statement& row) {
  OutboxItem item;
  item.row = row.getColumn(0).getInt64();
  item.what = {row.getColumn(1).getString(), row.getColumn(2).getString(), row.getColumn(3).getString(),
               from_ms(row.getColumn(4).getInt64())};
  item.next = from_ms(row.getColumn(5).getInt64());
  item.attempts = row.getColumn(6).getInt();
  item.state = state_from_name(row.getColumn(7).getString());
  if (const auto ended = row.getColumn(8).getInt64(); ended != 0) item.ended = from_ms(ended);
  item.words = row.getColumn(9).getString();
  return item;
}

}  // namespace

std::string_view outbox_state_name(OutboxState state) { return kStateNames[static_cast<int>(state)]; }

class Outbox::Impl {
 public:
  Impl(std::unique_ptr<SQLite::Database> database, std::string path)
      : path_(std::move(path)), database_(std::move(database)) {}

  template <class Body>
  auto guard(Body&& body) const {
    return guarded(path_, std::forward<Body>(body));
  }
  SQLite::Statement query(const std::string& sql) const { return SQLite::Statement(*database_, sql); }

  // One statement is one transaction. false: no such row was pending.
  template <class... T>
  Result<bool> change(const char* sql, const T&... values) {
    return guard([&] {
      const auto before = database_->getTotalChanges();
      Prepared(*database_, sql).run(values...);
      return database_->getTotalChanges() > before;
    });
  }

  Result<bool> end(std::int64_t row, OutboxState state, UtcTime now, const std::string& words) {
    return change(
        "UPDATE outbox SET state = ?, ended_ms = ?, words = ?, attempts = attempts + 1 "
        "WHERE id = ? AND state = 'pending'",
        outbox_state_name(state), to_ms(now), words, row);
  }

 private:
  std::string path_;
  std::unique_ptr<SQLite::Database> database_;
};

Outbox::Outbox(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Outbox::Outbox(Outbox&&) noexcept = default;
Outbox& Outbox::operator=(Outbox&&) noexcept = default;
Outbox::~Outbox() = default;

Result<Outbox> Outbox::open(const std::string& path) {
  auto database = connect(path, kStateFile, 128);
  if (!database) return database.error();
  return Outbox(std::make_unique<Impl>(std::move(*database), path));
}

Result<std::optional<OutboxItem>> Outbox::next(const std::string& notifier, UtcTime now) const {
  return impl_->guard([&] {
    auto select =
        impl_->query(fmt::format("SELECT {} FROM outbox WHERE notifier = ? AND state = 'pending' AND next_ms "
                                 "<= ? ORDER BY due_ms, id LIMIT 1",
                                 kColumns));
    select.bind(1, notifier);
    select.bind(2, to_ms(now));
    return select.executeStep() ? std::optional(item_of(select)) : std::nullopt;
  });
}

Result<UtcTime> Outbox::next_time(const std::string& notifier) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT min(next_ms) FROM outbox WHERE notifier = ? AND state = 'pending'");
    select.bind(1, notifier);
    const bool any = select.executeStep() && !select.getColumn(0).isNull();
    return any ? from_ms(select.getColumn(0).getInt64()) : kNever;
  });
}

Result<bool> Outbox::done(std::int64_t row, UtcTime now, const std::string& words) {
  return impl_->end(row, OutboxState::done, now, words);
}

Result<bool> Outbox::retry(std::int64_t row, UtcTime next, const std::string& words) {
  return impl_->change(
      "UPDATE outbox SET next_ms = ?, words = ?, attempts = attempts + 1 WHERE id = ? AND state = 'pending'",
      to_ms(next), words, row);
}

Result<bool> Outbox::refused(std::int64_t row, UtcTime now, const std::string& words) {
  return impl_->end(row, OutboxState::refused, now, words);
}

Result<bool> Outbox::give_up(std::int64_t row, UtcTime now, const std::string& words) {
  return impl_->end(row, OutboxState::given_up, now, words);
}

Result<bool> Outbox::queue(const OutboxRow& row) {
  return impl_->change(
      "INSERT OR IGNORE INTO outbox (alert, notifier, json, due_ms, next_ms) VALUES (?1, ?2, ?3, ?4, ?4)",
      row.alert, row.notifier, row.json, to_ms(row.due));
}

Result<OutboxCounts> Outbox::counts(const std::string& notifier) const {
  return impl_->guard([&] {
    auto select =
        impl_->query("SELECT state, count(*), min(due_ms) FROM outbox WHERE notifier = ? GROUP BY state");
    select.bind(1, notifier);
    OutboxCounts counts;
    std::uint64_t* const by_state[] = {&counts.pending, &counts.done, &counts.refused, &counts.given_up};
    while (select.executeStep()) {
      const auto state = state_from_name(select.getColumn(0).getString());
      *by_state[static_cast<int>(state)] = static_cast<std::uint64_t>(select.getColumn(1).getInt64());
      if (state == OutboxState::pending) counts.oldest_pending = from_ms(select.getColumn(2).getInt64());
    }
    return counts;
  });
}

Result<std::vector<OutboxItem>> Outbox::latest(const std::string& notifier, std::size_t limit) const {
  return impl_->guard([&] {
    auto select = impl_->query(fmt::format(
        "SELECT {} FROM outbox WHERE ?1 = '' OR notifier = ?1 ORDER BY id DESC LIMIT ?2", kColumns));
    select.bind(1, notifier);
    select.bind(2, static_cast<std::int64_t>(limit));
    std::vector<OutboxItem> items;
    while (select.executeStep()) items.push_back(item_of(select));
    return items;
  });
}

Result<std::size_t> Outbox::forget(UtcTime ended_before) {
  return impl_->guard([&] {
    auto remove = impl_->query("DELETE FROM outbox WHERE state <> 'pending' AND ended_ms < ?");
    remove.bind(1, to_ms(ended_before));
    return static_cast<std::size_t>(remove.exec());
  });
}

Result<std::string> Outbox::export_mark(const std::string& exporter) const {
  return impl_->guard([&] {
    auto select = impl_->query("SELECT position FROM export_mark WHERE exporter = ?");
    select.bind(1, exporter);
    return select.executeStep() ? select.getColumn(0).getString() : std::string();
  });
}

Result<bool> Outbox::set_export_mark(const std::string& exporter, const std::string& position) {
  return impl_->change("INSERT OR REPLACE INTO export_mark (exporter, position) VALUES (?, ?)", exporter,
                       position);
}

}  // namespace coilward
