#include "daemon/history/keeper.h"

#include <gtest/gtest.h>

#include <condition_variable>
#include <mutex>

#include "daemon/history/database.h"
#include "daemon/history/history_fixture.h"
#include "daemon/history/outbox.h"
#include "daemon/history/state_directory.h"

namespace coilward {
namespace {

using namespace test;
using std::chrono::milliseconds;
constexpr milliseconds kLong{20'000};

// What the keeper told, and a way to wait for it.
class Told {
 public:
  KeeperEvents events() {
    return {
        [this](std::uint64_t mark) { note([&] { marks.push_back(mark); }); },
        [this] { note([&] { ++outbox; }); },
        [this](const auto& rows) { note([&] { unsaved.insert(unsaved.end(), rows.begin(), rows.end()); }); },
        [this](const KeeperHealth& health) { note([&] { healths.push_back(health); }); }};
  }
  template <class Condition>
  bool wait(Condition&& condition) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, kLong, condition);
  }

  std::vector<std::uint64_t> marks;
  int outbox = 0;
  std::vector<OutboxRow> unsaved;
  std::vector<KeeperHealth> healths;

 private:
  template <class Change>
  void note(Change&& change) {
    std::lock_guard lock(mutex_);
    change();
    changed_.notify_all();
  }
  std::mutex mutex_;
  std::condition_variable changed_;
};

class KeeperTest : public ::testing::Test {
 protected:
  KeeperOptions options() {
    KeeperOptions options;
    options.directory = directory_.path();
    options.site = "juniper-row-12";
    options.names = two_commons();
    options.first_retry = milliseconds{20};
    options.spare_bytes = 0;
    return options;
  }
  std::unique_ptr<Keeper> start(const KeeperOptions& options) {
    auto keeper = Keeper::start(options, told_.events(), clock_);
    EXPECT_TRUE(keeper) << keeper.error().what;
    return std::move(*keeper);
  }
  std::unique_ptr<Keeper> start() { return start(options()); }

  CommitUnit unit(std::uint64_t mark, int seconds = 60) {
    CommitUnit unit;
    unit.readings =
        site_readings(start_ + milliseconds{1000 * 60 * static_cast<int>(mark)}, seconds, 2, mark);
    unit.snapshot = "{\"mark\": " + std::to_string(mark) + "}";
    unit.mark = mark;
    return unit;
  }
  CommitUnit alert(const std::string& id) {
    CommitUnit unit;
    Finding finding;
    finding.id = id;
    finding.zones = {4};
    finding.opened = finding.updated = start_;
    unit.findings.push_back(finding);
    unit.outbox.push_back({id, "mail", "{}", start_});
    return unit;
  }
  std::size_t stored(int zone) {
    auto reader = HistoryReader::open(directory_ / "history.db", two_commons());
    return reader ? all_readings(*reader, zone_current(zone)).size() : 0;
  }
  std::size_t queued() {
    auto outbox = Outbox::open(directory_ / "state.db");
    return outbox ? outbox->counts("mail")->pending : 0;
  }

  TemporaryDirectory directory_;
  UtcTime start_ = at("2026-05-04T05:00:00Z");
  FakeClock clock_{start_};
  Told told_;
};

TEST_F(KeeperTest, CommitsAndTellsHowFar) {
  auto keeper = start();
  keeper->post(unit(1));
  keeper->post(unit(2));
  keeper->post(alert("a"));
  ASSERT_TRUE(keeper->flush(kLong));
  EXPECT_TRUE(
      told_.wait([&] { return !told_.marks.empty() && told_.marks.back() == 2 && told_.outbox > 0; }));
  EXPECT_EQ(stored(1), 120u);
  EXPECT_EQ(queued(), 1u);
  EXPECT_TRUE(keeper->waiting(zone_current(1)).empty());
  EXPECT_TRUE(keeper->stop(kLong));
  const auto health = keeper->health();
  EXPECT_TRUE(health.history_ok && health.state_ok && health.trouble.empty());
  EXPECT_EQ(health.history.stored, 240u);
  auto next = start();
  EXPECT_EQ(next->marks().history, 2u);
  EXPECT_EQ(next->marks().state, 2u);
  EXPECT_EQ(next->snapshot().json, "{\"mark\": 2}");
}

// Readings may be committed more often than snapshots are taken: a restart then replays from the snapshot.
TEST_F(KeeperTest, TheStatesMarkMovesOnlyWithASnapshot) {
  auto keeper = start();
  keeper->post(unit(1));
  auto second = unit(2);
  second.snapshot.clear();
  keeper->post(std::move(second));
  ASSERT_TRUE(keeper->stop(kLong));
  const auto next = start();
  EXPECT_EQ(next->marks().history, 2u);
  EXPECT_EQ(next->marks().state, 1u);
}

TEST_F(KeeperTest, StopCommitsWhatWaits) {
  auto keeper = start();
  for (std::uint64_t mark = 1; mark <= 50; ++mark) keeper->post(unit(mark, 10));
  EXPECT_TRUE(keeper->stop(kLong));
  EXPECT_EQ(stored(2), 500u);
}

TEST_F(KeeperTest, PacksHoursWhenTheyAreOver) {
  auto keeper = start();
  keeper->post(unit(1, 3600));
  ASSERT_TRUE(keeper->flush(kLong));
  clock_.advance(std::chrono::hours{3});
  keeper->post(unit(200, 1));
  ASSERT_TRUE(keeper->stop(kLong));  // the next start finishes what stop cut short
  auto again = start();
  again->post(unit(201, 1));
  ASSERT_TRUE(again->flush(kLong));
  auto reader = HistoryReader::open(directory_ / "history.db", two_commons());
  ASSERT_TRUE(reader);
  EXPECT_EQ(all_readings(*reader, zone_current(1)).size(), 3602u);
}

// history.db may not grow any more: findings and alerts still get to the disk, snapshot and
// marks stay back together, memory stays bounded, and everything left is stored when there is room again.
TEST_F(KeeperTest, GoesOnWhenHistoryIsFull) {
  auto small = options();
  small.most_history_pages = 20;
  small.most_waiting_bytes = 4000 * sizeof(Reading);
  {
    auto keeper = start(small);
    std::size_t posted = 0;
    const auto post = [&](std::uint64_t mark) {
      auto more = unit(mark, 1800);
      posted += more.readings.size();
      keeper->post(std::move(more));
    };
    std::uint64_t mark = 0;
    while (keeper->health().history_ok) {
      ASSERT_LT(mark, 1000u) << "never full";
      post(++mark);
      keeper->flush(milliseconds{500});
    }
    for (int more = 0; more < 10; ++more) post(++mark);
    keeper->post(alert("a"));
    ASSERT_TRUE(told_.wait([&] { return !told_.healths.empty() && told_.outbox > 0; }));
    EXPECT_TRUE(told_.healths.back().trouble.starts_with("disk full: ")) << told_.healths.back().trouble;
    EXPECT_EQ(queued(), 1u);
    const auto health = keeper->health();
    EXPECT_FALSE(health.history_ok);
    EXPECT_TRUE(health.state_ok);
    EXPECT_LE(health.waiting_readings, 2 * 4000u);
    EXPECT_GT(health.dropped_readings, 0u);
    EXPECT_EQ(health.history.stored + health.dropped_readings + health.waiting_readings, posted);
    EXPECT_FALSE(keeper->flush(milliseconds{1}));
    EXPECT_FALSE(keeper->stop(milliseconds{50}));
  }
  const auto next = start();
  EXPECT_GE(next->marks().history, next->marks().state);
}

// A file that may not grow, then may: by another process's hand, as when someone deletes something.
TEST_F(KeeperTest, RecoversByItselfWhenThereIsRoomAgain) {
  const auto blocked = directory_ / "history.db";
  std::filesystem::create_directories(blocked + "-wal");  // SQLite cannot make its log
  EXPECT_FALSE(Keeper::start(options(), told_.events(), clock_));
  std::filesystem::remove_all(blocked + "-wal");
  auto keeper = start();
  ASSERT_TRUE(keeper->flush(kLong));
  SQLite::Database other(blocked, SQLite::OPEN_READWRITE);
  other.exec("CREATE TRIGGER full BEFORE INSERT ON batch BEGIN SELECT RAISE(ABORT, 'disk I/O error'); END");
  keeper->post(unit(1));
  ASSERT_TRUE(told_.wait([&] { return !told_.healths.empty(); }));
  EXPECT_FALSE(told_.healths.back().history_ok);
  EXPECT_EQ(keeper->waiting(zone_current(1)).size(), 60u);
  other.exec("DROP TRIGGER full");
  ASSERT_TRUE(told_.wait([&] { return told_.healths.back().history_ok; }));
  EXPECT_TRUE(keeper->flush(kLong));
  EXPECT_EQ(stored(1), 60u);
  EXPECT_EQ(keeper->health().since, kNever);
}

TEST_F(KeeperTest, HandsOutAlertsThatCannotBeSaved) {
  auto keeper = start();
  ASSERT_TRUE(keeper->flush(kLong));
  SQLite::Database other(directory_ / "state.db", SQLite::OPEN_READWRITE);
  other.exec(
      "CREATE TRIGGER full BEFORE INSERT ON outbox BEGIN SELECT RAISE(ABORT, 'database or disk is full'); "
      "END");
  keeper->post(alert("a"));
  ASSERT_TRUE(told_.wait([&] { return told_.unsaved.size() == 1; }));
  keeper->post(alert("b"));
  ASSERT_TRUE(told_.wait([&] { return told_.unsaved.size() == 2; }));
  EXPECT_EQ(told_.unsaved[1].alert, "b");  // each once
  other.exec("DROP TRIGGER full");
  ASSERT_TRUE(keeper->flush(kLong));
  EXPECT_EQ(queued(), 2u);
}

// Every page of a database but the first.
// The keeper may be tidying: waits for it, and keeps it out meanwhile.
SQLite::Database another_connection(const std::string& path) {
  return SQLite::Database(path, SQLite::OPEN_READWRITE, 10'000);
}

// With a commit in the same transaction, so that a keeper that runs does not trust its cache. All of it by
// one connection: once the damage is there, a keeper may move the file away at any moment.
void damage(const std::string& path) {
  auto connection = another_connection(path);
  connection.execAndGet("PRAGMA wal_checkpoint(TRUNCATE)");
  connection.exec("BEGIN IMMEDIATE");
  std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
  file.seekp(8192);
  file << std::string(std::filesystem::file_size(path) - 8192, '\xa5') << std::flush;
  connection.exec("PRAGMA user_version = 1");
  connection.exec("COMMIT");
}

TEST_F(KeeperTest, ReplacesAHistoryThatIsDamaged) {
  start()->post(unit(1));
  damage(directory_ / "history.db");
  auto keeper = start();
  keeper->post(unit(2));
  ASSERT_TRUE(keeper->flush(kLong));
  EXPECT_EQ(stored(1), 60u);
  ASSERT_EQ(keeper->health().repairs.size(), 1u);
  EXPECT_EQ(keeper->marks().state, 1u);
}

TEST_F(KeeperTest, ReplacesAHistoryThatIsDamagedWhileItRuns) {
  auto keeper = start();
  keeper->post(unit(1));
  ASSERT_TRUE(keeper->flush(kLong));
  damage(directory_ / "history.db");
  keeper->post(unit(2));
  ASSERT_TRUE(keeper->flush(kLong));
  ASSERT_TRUE(told_.wait([&] { return !told_.healths.empty() && told_.healths.back().history_ok; }));
  EXPECT_EQ(keeper->health().repairs.size(), 1u);
  EXPECT_EQ(stored(1), 60u);
}

TEST_F(KeeperTest, KeepsRoomForAlerts) {
  auto with_spare = options();
  with_spare.spare_bytes = 1u << 20;
  auto keeper = start(with_spare);
  EXPECT_EQ(std::filesystem::file_size(directory_ / "spare"), 1u << 20);
}

TEST_F(KeeperTest, RefusesADirectoryThatIsNotThere) {
  auto wrong = options();
  wrong.directory = directory_ / "none";
  const auto keeper = Keeper::start(wrong, told_.events(), clock_);
  ASSERT_FALSE(keeper);
  EXPECT_EQ(keeper.error().cause, Cause::world);
}

TEST(StateDirectoryTest, IsHeldByOne) {
  TemporaryDirectory directory;
  const auto path = directory / "state/of/site";
  {
    const auto held = StateDirectory::lock(path);
    ASSERT_TRUE(held) << held.error().what;
    const auto second = StateDirectory::lock(path);
    ASSERT_FALSE(second);
    EXPECT_EQ(second.error().cause, Cause::conflict);
    EXPECT_NE(second.error().what.find(std::to_string(getpid())), std::string::npos);
  }
  EXPECT_TRUE(StateDirectory::lock(path));
}

}  // namespace
}  // namespace coilward
