#include "daemon/history/notes_store.h"

#include <fmt/format.h>

#include <filesystem>

#include "daemon/history/file_tools.h"
#include "daemon/history/notes_schema.h"

namespace coilward {
namespace {

constexpr const char* kNoteColumns =
    "SELECT id, finding, place, place_to, at_ms, by, words, mime, width, height, bytes FROM note ";

FieldNote note_of(const SQLite::Statement& row) {
  const auto text = [&](int i) { return row.getColumn(i).getString(); };
  const auto number = [&](int i) { return row.getColumn(i).getInt64(); };
  return {number(0),
          text(1),
          text(2),
          text(3),
          from_ms(number(4)),
          text(5),
          text(6),
          text(7),
          static_cast<std::uint32_t>(number(8)),
          static_cast<std::uint32_t>(number(9)),
          static_cast<std::uint64_t>(number(10))};
}

// What a picture must leave of the disk: room for everything that watches the site. Own choice.
constexpr std::uint64_t kRoomLeft = 64u << 20;

Result<bool> check_room(const std::string& path, std::size_t bytes) {
  std::error_code error;
  const auto space = std::filesystem::space(parent_of(path), error);
  if (error || space.available >= kRoomLeft + 2 * bytes) return true;
  return Error{Cause::world, fmt::format("disk full: {} MB are left, and {} have to stay",
                                         space.available >> 20, kRoomLeft >> 20)};
}

Error no_such_note() { return {Cause::not_found, "there is no such note"}; }

}  // namespace

class NotesStore::Impl {
 public:
  Impl(OpenedFile file, std::string path)
      : path_(std::move(path)), repair_(std::move(file.repair)), database_(std::move(file.database)) {}

  template <class Body>
  auto guard(Body&& body) const {
    return guarded(path_, std::forward<Body>(body));
  }
  SQLite::Statement query(const std::string& sql) const { return SQLite::Statement(*database_, sql); }
  SQLite::Database& database() const { return *database_; }

  std::int64_t number(const char* sql, const std::string& bound = {}) const {
    auto select = query(sql);
    if (!bound.empty()) select.bind(1, bound);
    return select.executeStep() ? select.getColumn(0).getInt64() : 0;
  }

  std::int64_t insert(const FieldNote& n, std::string_view picture) const {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    Prepared(*database_,
             "INSERT INTO note (finding, place, place_to, at_ms, by, words, mime, width, height, bytes) "
             "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")
        .run(n.finding, n.place, n.place_to, to_ms(n.at), n.by, n.words, n.mime, n.width, n.height,
             picture.size());
    const std::int64_t id = database_->getLastInsertRowid();
    if (!picture.empty())
      Prepared(*database_, "INSERT INTO picture (id, content) VALUES (?, ?)").run(id, Blob{picture});
    transaction.commit();
    return id;
  }

  bool erase(const std::string& finding, std::int64_t id) const {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    Prepared(*database_, "DELETE FROM note WHERE id = ? AND finding = ?").run(id, finding);
    const bool there = database_->getChanges() > 0;
    if (there) Prepared(*database_, "DELETE FROM picture WHERE id = ?").run(id);
    transaction.commit();
    return there;
  }

  const Repair& repair() const { return repair_; }
  const std::string& path() const { return path_; }

 private:
  const std::string path_;
  Repair repair_;
  std::unique_ptr<SQLite::Database> database_;
};

NotesStore::NotesStore(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
NotesStore::NotesStore(NotesStore&&) noexcept = default;
NotesStore& NotesStore::operator=(NotesStore&&) noexcept = default;
NotesStore::~NotesStore() = default;

Result<NotesStore> NotesStore::open(const std::string& path, StoreOptions options) {
  auto file = open_file(path, kNotesFile, options);
  if (!file) return file.error();
  return NotesStore(std::make_unique<Impl>(std::move(*file), path));
}

Result<std::int64_t> NotesStore::add(const FieldNote& note, std::string_view picture) {
  const auto held = bytes();
  if (!held) return held.error();
  if (*held + picture.size() > kMostNotesBytes)
    return Error{
        Cause::conflict,
        fmt::format("pictures take {} MB already, and may take {}: delete some that are not needed any more",
                    *held >> 20, kMostNotesBytes >> 20)};
  if (const auto room = check_room(impl_->path(), picture.size()); !room) return room.error();
  const auto there = impl_->guard(
      [&] { return impl_->number("SELECT count(*) FROM note WHERE finding = ?", note.finding); });
  if (!there) return there.error();
  if (static_cast<std::size_t>(*there) >= kMostNotesOfFinding)
    return Error{Cause::conflict, fmt::format("a finding has room for {} notes", kMostNotesOfFinding)};
  return impl_->guard([&] { return impl_->insert(note, picture); });
}

Result<bool> NotesStore::remove(const std::string& finding, std::int64_t id) {
  const auto done = impl_->guard([&] { return impl_->erase(finding, id); });
  if (done && !*done) return no_such_note();
  return done;
}

Result<std::vector<FieldNote>> NotesStore::notes(const std::string& finding) const {
  return impl_->guard([&] {
    auto select = impl_->query(std::string(kNoteColumns) + "WHERE finding = ? ORDER BY at_ms, id");
    select.bind(1, finding);
    std::vector<FieldNote> list;
    while (select.executeStep()) list.push_back(note_of(select));
    return list;
  });
}

Result<FieldNote> NotesStore::note(std::int64_t id) const {
  auto found = impl_->guard([&] {
    auto select = impl_->query(std::string(kNoteColumns) + "WHERE id = ?");
    select.bind(1, id);
    return select.executeStep() ? note_of(select) : FieldNote{};
  });
  if (found && found->id == 0) return no_such_note();
  return found;
}

Result<std::string> NotesStore::picture(std::int64_t id) const {
  auto found = impl_->guard([&] {
    auto select = impl_->query("SELECT content FROM picture WHERE id = ?");
    select.bind(1, id);
    return select.executeStep() ? std::string(bytes_of(select.getColumn(0))) : std::string();
  });
  if (found && found->empty()) return Error{Cause::not_found, "there is no such picture"};
  return found;
}

Result<std::uint64_t> NotesStore::bytes() const {
  return impl_->guard(
      [&] { return static_cast<std::uint64_t>(impl_->number("SELECT coalesce(sum(bytes), 0) FROM note")); });
}

Result<std::vector<FieldNote>> read_notes(const std::string& path, const std::string& finding) {
  std::error_code error;
  if (!std::filesystem::exists(path, error)) return std::vector<FieldNote>();
  StoreOptions options;
  options.mode = OpenMode::read_only;
  const auto store = NotesStore::open(path, options);
  if (!store) return store.error();
  return store->notes(finding);
}

const Repair& NotesStore::repair() const { return impl_->repair(); }

}  // namespace coilward
