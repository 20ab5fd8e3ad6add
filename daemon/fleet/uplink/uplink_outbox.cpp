#include "daemon/fleet/uplink/uplink_outbox.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <random>

#include "daemon/base/log.h"
#include "daemon/history/database.h"
#include "daemon/history/squeeze.h"

namespace coilward {
namespace {

constexpr std::string_view kUplinkV1 = R"sql(
-- body: squeezed, sealed. before: the marks that this message moved, as they were, JSON.
CREATE TABLE message (
  seq INTEGER PRIMARY KEY, kind INTEGER NOT NULL, made_ms INTEGER NOT NULL, before TEXT NOT NULL,
  body BLOB NOT NULL) STRICT;
-- epoch, have, last, damaged; mark.NAME
CREATE TABLE setting (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
)sql";
constexpr std::array<std::string_view, 1> kUplinkMigrations = {kUplinkV1};
constexpr FileKind kUplinkFile = {"uplink.db", 0x434f4955 /* COIU */, kUplinkMigrations, 4096, true, {}};
constexpr std::string_view kMark = "mark.";

// Told apart from every other one by chance alone: 2^48 of them.
std::int64_t random_epoch() {
  std::random_device device;
  const std::uint64_t bits = (std::uint64_t{device()} << 32) | device();
  return static_cast<std::int64_t>(bits >> 16) + 1;
}

std::int64_t number_of(const std::string& text) { return text.empty() ? 0 : std::atoll(text.c_str()); }

// The earlier of two: by number where both are numbers, else "not yet".
std::string lower_mark(const std::string& a, const std::string& b) {
  const auto digits = [](const std::string& t) {
    return !t.empty() && t.find_first_not_of("0123456789") == std::string::npos;
  };
  if (!digits(a) || !digits(b)) return {};
  return number_of(a) < number_of(b) ? a : b;
}

}  // namespace

class UplinkOutbox::Impl {
 public:
  explicit Impl(std::string path) : path_(std::move(path)) {}

  Result<bool> open(UtcTime now) {
    database_.reset();
    auto file = open_file(path_, kUplinkFile, {OpenMode::read_write, 0, now});
    if (!file) return file.error();
    database_ = std::move(file->database);
    const bool moved = !file->repair.moved_to.empty();
    if (moved) log::error("{}", file->repair.what);
    return guarded(path_, [&] { return read_settings(moved); });
  }

  // Damage that shows while it is open: the file is moved aside, and the caller goes on with the new one.
  template <class Body>
  auto guard(Body&& body) -> Result<decltype(body())> {
    if (!database_)
      if (auto opened = open(kNever); !opened) return opened.error();
    auto result = guarded(path_, std::forward<Body>(body));
    if (!result && says_damaged(result.error()))
      if (auto opened = open(kNever); !opened) log::error("{}", opened.error().what);
    return result;
  }

  bool add(const Parcel& parcel, UtcTime now) {
    UplinkMarks before;
    for (const auto& [name, value] : parcel.marks) before[name] = mark(name);
    std::string body = squeeze_uplink_body(parcel.json);
    seal(body);
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    run("INSERT INTO message (seq, kind, made_ms, before, body) VALUES (?, ?, ?, ?, ?)", last_ + 1,
        static_cast<int>(parcel.kind), to_ms(now), nlohmann::json(before).dump(), Blob{body});
    put("last", last_ + 1);
    put_marks(parcel.marks);
    transaction.commit();
    ++last_;
    take(parcel.marks);
    return true;
  }

  bool set_marks(const UplinkMarks& marks) {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    put_marks(marks);
    transaction.commit();
    take(marks);
    return true;
  }

  std::vector<UplinkRow> after(std::int64_t seq, std::size_t limit) {
    std::vector<UplinkRow> rows;
    std::map<std::size_t, std::string> damaged;  // which of them, and the marks before it
    Prepared select(
        *database_,
        "SELECT seq, kind, made_ms, before, body FROM message WHERE seq > ? ORDER BY seq LIMIT ?");
    for (select.start(seq, limit); select.next();) {
      UplinkRow row;
      row.head = {epoch_, select.column(0).getInt64(), static_cast<UplinkKind>(select.column(1).getInt()),
                  from_ms(select.column(2).getInt64())};
      if (const auto body = unseal(bytes_of(select.column(4)))) row.squeezed = *body;
      const std::string before = select.column(3).getString();
      if (row.squeezed.empty()) damaged[rows.size()] = before;
      rows.push_back(std::move(row));
    }
    select.done();
    for (const auto& [index, before] : damaged) rows[index].squeezed = give_up(rows[index].head, before);
    return rows;
  }

  bool cut(std::int64_t have, const UplinkMarks& marks) {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    run("DELETE FROM message WHERE seq <= ?", have);
    put("have", have);
    put_marks(marks);
    transaction.commit();
    have_ = have;
    take(marks);
    return true;
  }

  bool begin_epoch() {
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    const auto waiting = number_anew();
    const auto epoch = random_epoch();
    put("epoch", epoch);
    put("last", waiting);
    put("have", 0);
    transaction.commit();
    epoch_ = epoch;
    last_ = waiting;
    have_ = 0;
    return true;
  }

  UplinkOutboxCounts counts() const {
    UplinkOutboxCounts counts;
    counts.damaged = static_cast<std::uint64_t>(damaged_);
    const auto read = guarded(path_, [&] {
      SQLite::Statement select(*database_, "SELECT count(*), coalesce(sum(length(body)), 0) FROM message");
      select.executeStep();
      counts.waiting = static_cast<std::uint64_t>(select.getColumn(0).getInt64());
      counts.bytes = static_cast<std::uint64_t>(select.getColumn(1).getInt64());
      return true;
    });
    (void)read;  // shown as nothing waiting; the next change says what is wrong
    return counts;
  }

  bool is_open() const { return database_ != nullptr; }
  std::int64_t epoch_ = 0, have_ = 0, last_ = 0, damaged_ = 0;
  UplinkMarks marks_;

 private:
  // 1, 2, 3 .. in their order; each is at or above its new number, so that none is taken twice on the way.
  std::int64_t number_anew() {
    std::vector<std::int64_t> waiting;
    SQLite::Statement select(*database_, "SELECT seq FROM message ORDER BY seq");
    while (select.executeStep()) waiting.push_back(select.getColumn(0).getInt64());
    for (std::size_t i = 0; i < waiting.size(); ++i)
      run("UPDATE message SET seq = ? WHERE seq = ?", i + 1, waiting[i]);
    return static_cast<std::int64_t>(waiting.size());
  }

  bool read_settings(bool after_damage) {
    std::map<std::string, std::string> found;
    SQLite::Statement select(*database_, "SELECT key, value FROM setting");
    while (select.executeStep()) found[select.getColumn(0).getString()] = select.getColumn(1).getString();
    epoch_ = number_of(found["epoch"]);
    have_ = number_of(found["have"]);
    last_ = number_of(found["last"]);
    damaged_ = std::max(damaged_, number_of(found["damaged"]));
    marks_.clear();
    for (const auto& [key, value] : found)
      if (key.starts_with(kMark)) marks_[key.substr(kMark.size())] = value;
    if (after_damage) put("damaged", ++damaged_);
    return epoch_ != 0 || begin_epoch();
  }

  // Its number stays, so that the others can be confirmed; what it held is taken anew.
  std::string give_up(UplinkHead& head, const std::string& before) {
    const auto json = nlohmann::json::parse(before, nullptr, false);
    UplinkMarks back;
    if (json.is_object())
      for (const auto& [name, value] : json.items())
        if (value.is_string()) back[name] = lower_mark(value.get<std::string>(), mark(name));
    log::error("message {} to the fleet is damaged in {}: what it held is taken anew", head.seq, path_);
    head.kind = UplinkKind::lost;
    const std::string squeezed = squeeze_uplink_body("{}");
    std::string body = squeezed;
    seal(body);
    SQLite::Transaction transaction(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    run("UPDATE message SET kind = ?, before = '{}', body = ? WHERE seq = ?", static_cast<int>(head.kind),
        Blob{body}, head.seq);
    put_marks(back);
    put("damaged", damaged_ + 1);
    transaction.commit();
    ++damaged_;
    take(back);
    return squeezed;
  }

  template <class... T>
  void run(const char* sql, const T&... values) {
    Prepared(*database_, sql).run(values...);
  }
  template <class T>
  void put(const std::string& key, const T& value) {
    run("INSERT OR REPLACE INTO setting (key, value) VALUES (?, ?)", key, fmt::to_string(value));
  }
  void put_marks(const UplinkMarks& marks) {
    for (const auto& [name, value] : marks) put(std::string(kMark) + name, value);
  }
  void take(const UplinkMarks& marks) {
    for (const auto& [name, value] : marks) marks_[name] = value;
  }
  std::string mark(const std::string& name) const {
    const auto it = marks_.find(name);
    return it == marks_.end() ? std::string() : it->second;
  }

  std::string path_;
  std::unique_ptr<SQLite::Database> database_;
};

UplinkOutbox::UplinkOutbox(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
UplinkOutbox::UplinkOutbox(UplinkOutbox&&) noexcept = default;
UplinkOutbox& UplinkOutbox::operator=(UplinkOutbox&&) noexcept = default;
UplinkOutbox::~UplinkOutbox() = default;

Result<UplinkOutbox> UplinkOutbox::open(const std::string& path, UtcTime now) {
  auto impl = std::make_unique<Impl>(path);
  if (auto opened = impl->open(now); !opened) return opened.error();
  return UplinkOutbox(std::move(impl));
}

std::int64_t UplinkOutbox::epoch() const { return impl_->epoch_; }
std::int64_t UplinkOutbox::have() const { return impl_->have_; }
std::int64_t UplinkOutbox::last() const { return impl_->last_; }
const UplinkMarks& UplinkOutbox::marks() const { return impl_->marks_; }
UplinkOutboxCounts UplinkOutbox::counts() const {
  return impl_->is_open() ? impl_->counts() : UplinkOutboxCounts{};
}

Result<bool> UplinkOutbox::add(const Parcel& parcel, UtcTime now) {
  return impl_->guard([&] { return impl_->add(parcel, now); });
}
Result<bool> UplinkOutbox::set_marks(const UplinkMarks& marks) {
  return impl_->guard([&] { return impl_->set_marks(marks); });
}
Result<std::vector<UplinkRow>> UplinkOutbox::after(std::int64_t seq, std::size_t limit) {
  return impl_->guard([&] { return impl_->after(seq, limit); });
}
Result<bool> UplinkOutbox::cut(std::int64_t have, const UplinkMarks& marks) {
  return impl_->guard([&] { return impl_->cut(have, marks); });
}
Result<bool> UplinkOutbox::begin_epoch() {
  return impl_->guard([&] { return impl_->begin_epoch(); });
}

}  // namespace coilward
