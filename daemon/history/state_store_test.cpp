#include "daemon/history/state_store.h"

#include <gtest/gtest.h>

#include "daemon/history/database.h"
#include "daemon/history/history_fixture.h"
#include "daemon/history/outbox.h"
#include "daemon/history/state_schema.h"

namespace coilward {
namespace {

using namespace test;

class StateStoreTest : public ::testing::Test {
 protected:
  StateStore store() {
    auto opened = StateStore::open(path_, "juniper-row-12", {.now = now_});
    EXPECT_TRUE(opened) << opened.error().what;
    return std::move(*opened);
  }
  Outbox outbox() {
    auto opened = Outbox::open(path_);
    EXPECT_TRUE(opened) << opened.error().what;
    return std::move(*opened);
  }
  static void commit(StateStore& store, const StateBatch& batch) {
    const auto done = store.commit(batch);
    ASSERT_TRUE(done) << done.error().what;
  }

  TemporaryDirectory directory_;
  std::string path_ = directory_ / "state.db";
  UtcTime now_ = at("2026-05-04T06:12:09.250Z");
};

Finding open_circuit(UtcTime opened) {
  Finding finding;
  finding.id = "20260504-061209-z4-open_circuit";
  finding.zones = {4};
  finding.severity = Severity::urgent;
  finding.probability = 0.9;
  finding.opened = finding.updated = opened;
  finding.summary = "Zone 4 took no current.";
  return finding;
}

TEST_F(StateStoreTest, KeepsSnapshotAndMark) {
  const std::string json = "{\"zones\": \"" + std::string(100'000, 'z') + "\"}";
  auto store = this->store();
  commit(store, {.snapshot = json, .mark = 41, .now = now_});
  const auto found = this->store().snapshot();
  ASSERT_TRUE(found);
  EXPECT_EQ(found->json, json);
  EXPECT_EQ(found->mark, 41u);
  EXPECT_EQ(found->taken, now_);
  EXPECT_LT(std::filesystem::file_size(path_), 200'000u);
}

TEST_F(StateStoreTest, KeepsAFindingFromFirstToLast) {
  auto store = this->store();
  auto finding = open_circuit(now_);
  commit(store, {.findings = {&finding, 1}});
  finding.probability = 0.98;
  finding.updated += Millis{60'000};
  commit(store, {.findings = {&finding, 1}});
  commit(store, {.findings = {&finding, 1}});  // again after a restart: no second change
  EXPECT_EQ(store.findings(false)->size(), 1u);
  finding.closed = finding.updated += Millis{60'000};
  commit(store, {.findings = {&finding, 1}});
  EXPECT_EQ(store.findings(false)->size(), 0u);
  const auto all = store.findings(true);
  ASSERT_TRUE(all);
  ASSERT_EQ(all->size(), 1u);
  EXPECT_EQ(all->front().closed, finding.closed);
  const auto changes = store.changes(finding.id);
  ASSERT_TRUE(changes);
  ASSERT_EQ(changes->size(), 3u);
  EXPECT_DOUBLE_EQ((*changes)[0].finding.probability, 0.9);
  EXPECT_EQ((*changes)[2].at, finding.updated);
  EXPECT_TRUE(store.finding(finding.id)->has_value());
  EXPECT_FALSE(store.finding("nobody")->has_value());
}

TEST_F(StateStoreTest, KeepsWhatPeopleSay) {
  auto store = this->store();
  NormalDraw draw;
  draw.zone = 4;
  draw.hold_amps = 0.231;
  const Acknowledgement acknowledged{"f1", "Ana", now_};
  const Pause pause{now_, now_ + Millis{3'600'000}, "Ana", "trenching"};
  const TestReadingRow test{"f1", now_, "{\"volts_on\": 24.1}"};
  const std::pair<std::string, std::string> value{"token", "abc"};
  const StateBatch batch = {.now = now_,
                            .draws = {&draw, 1},
                            .acknowledgements = {&acknowledged, 1},
                            .pauses = {&pause, 1},
                            .test_readings = {&test, 1},
                            .values = {&value, 1}};
  commit(store, batch);
  commit(store, batch);
  const auto read = StateStore::open(path_, "juniper-row-12", {.mode = OpenMode::read_only});
  ASSERT_TRUE(read) << read.error().what;
  EXPECT_EQ(read->normal_draws()->at(0).hold_amps, 0.231);
  EXPECT_EQ(read->acknowledgements()->at(0).by, "Ana");
  EXPECT_EQ(read->pauses(now_)->size(), 1u);
  EXPECT_EQ(read->pauses(now_ + std::chrono::hours{1})->size(), 0u);
  EXPECT_EQ(read->test_readings("f1")->size(), 1u);
  EXPECT_EQ(read->value("token")->value(), "abc");
  const std::pair<std::string, std::string> gone{"token", ""};
  commit(store, {.values = {&gone, 1}});
  EXPECT_FALSE(read->value("token")->has_value());
}

TEST_F(StateStoreTest, QueuesAnAlertOnceAndFollowsItToItsEnd) {
  auto store = this->store();
  const auto finding = open_circuit(now_);
  const std::vector<OutboxRow> rows = {
      {"a1", "mail", "{}", now_}, {"a1", "hook", "{}", now_}, {"a2", "mail", "{}", now_ + Millis{500}}};
  commit(store, {.findings = {&finding, 1}, .outbox = rows});
  commit(store, {.outbox = rows});
  auto outbox = this->outbox();
  EXPECT_EQ(outbox.counts("mail")->pending, 2u);
  EXPECT_EQ(outbox.counts("mail")->oldest_pending, now_);
  EXPECT_EQ(*outbox.next_time("mail"), now_);
  EXPECT_FALSE(outbox.next("mail", now_ - Millis{1})->has_value());
  const auto first = outbox.next("mail", now_);
  ASSERT_TRUE(first && *first);
  EXPECT_EQ((*first)->what.alert, "a1");
  EXPECT_TRUE(*outbox.retry((*first)->row, now_ + Millis{60'000}, "451 later"));
  const auto second = outbox.next("mail", now_ + Millis{1000});
  ASSERT_TRUE(second && *second);
  EXPECT_EQ((*second)->what.alert, "a2");
  EXPECT_TRUE(*outbox.refused((*second)->row, now_, "550 no such user"));
  EXPECT_EQ(*outbox.next_time("mail"), now_ + Millis{60'000});
  EXPECT_TRUE(*outbox.done((*first)->row, now_ + Millis{60'001}, "250 ok"));
  EXPECT_FALSE(*outbox.done((*first)->row, now_, "again"));
  EXPECT_EQ(*outbox.next_time("mail"), kNever);
  const auto latest = outbox.latest("", 10);
  ASSERT_TRUE(latest);
  ASSERT_EQ(latest->size(), 3u);
  EXPECT_EQ(latest->back().attempts, 2);
  EXPECT_EQ(latest->back().words, "250 ok");
  EXPECT_EQ(outbox.counts("hook")->pending, 1u);
  EXPECT_EQ(*outbox.forget(now_ + std::chrono::hours{1}), 2u);
}

TEST_F(StateStoreTest, ADoneAlertIsNotQueuedAgain) {
  auto store = this->store();
  auto outbox = this->outbox();
  const OutboxRow row{"a1", "mail", "{}", now_};
  ASSERT_TRUE(*outbox.queue(row));
  ASSERT_TRUE(*outbox.done(outbox.next("mail", now_)->value().row, now_, ""));
  commit(store, {.outbox = {&row, 1}});
  EXPECT_EQ(outbox.counts("mail")->pending, 0u);
}

TEST_F(StateStoreTest, RemembersHowFarAnExporterHasCome) {
  store();
  ASSERT_TRUE(outbox().set_export_mark("csv", "{\"hour\": 5}"));
  EXPECT_EQ(*outbox().export_mark("csv"), "{\"hour\": 5}");
  EXPECT_EQ(*outbox().export_mark("other"), "");
}

TEST_F(StateStoreTest, ReadingNeedsAFile) {
  const auto none = StateStore::open(path_, "s", {.mode = OpenMode::read_only});
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().cause, Cause::not_found);
  EXPECT_FALSE(Outbox::open(path_));
}

TEST_F(StateStoreTest, RefusesAFileOfANewerProgramAndSaysHowToGoBack) {
  store();
  { SQLite::Database(path_, SQLite::OPEN_READWRITE).exec("PRAGMA user_version = 7"); }
  const auto refused = StateStore::open(path_, "s");
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::bad_config);
  EXPECT_NE(refused.error().what.find("Go back"), std::string::npos);
}

// Pages overwritten at random: the daemon must start, the damaged file must be kept, and what can be read
// must come over.
TEST_F(StateStoreTest, SalvagesADamagedFile) {
  std::mt19937_64 random(11);
  for (int round = 0; round < 8; ++round) {
    std::filesystem::remove(path_);
    {
      auto store = this->store();
      std::vector<Finding> findings;
      for (int i = 0; i < 300; ++i) {
        findings.push_back(open_circuit(now_ + Millis{i}));
        findings.back().id += std::to_string(i);
      }
      commit(store, {.snapshot = "{}", .mark = 5, .now = now_, .findings = findings});
    }
    const auto pages = std::filesystem::file_size(path_) / 4096;
    std::fstream file(path_, std::ios::in | std::ios::out | std::ios::binary);
    for (int i = 0; i < 4; ++i) {
      file.seekp(static_cast<std::streamoff>(4096 * (3 + random() % (pages - 3))));
      std::string noise(4096, '\0');
      for (auto& byte : noise) byte = static_cast<char>(random());
      file << noise;
    }
    file.close();
    auto store = this->store();
    EXPECT_FALSE(store.repair().what.empty());
    EXPECT_TRUE(std::filesystem::exists(store.repair().moved_to));
    EXPECT_GT(store.repair().salvaged, 100u) << round;
    commit(store, {.snapshot = "{}", .mark = 6, .now = now_});
  }
}

TEST_F(StateStoreTest, StartsAnewWhenNothingCanBeRead) {
  {
    std::ofstream(path_) << "not a database at all, but long enough to be looked at as one"
                         << std::string(9000, 0);
  }
  auto store = this->store();
  EXPECT_NE(store.repair().what.find("state.db.corrupt-20260504-061209"), std::string::npos);
  EXPECT_EQ(store.repair().salvaged, 0u);
}

// Two versions made up here: the second program finds a file of the first.
TEST_F(StateStoreTest, MigratesInOneStepAndKeepsACopy) {
  static constexpr std::array<std::string_view, 1> kOne = {"CREATE TABLE a (x INTEGER);"};
  static constexpr std::array<std::string_view, 2> kTwo = {kOne[0],
                                                           "ALTER TABLE a ADD COLUMN y INTEGER DEFAULT 2;"};
  static constexpr std::array<std::string_view, 2> kBroken = {kOne[0],
                                                              "CREATE TABLE b (x); ALTER TABLE none ADD z;"};
  constexpr FileKind one{"a", 0x1234, kOne, 4096, true, {}}, two{"a", 0x1234, kTwo, 4096, true, {}},
      broken{"a", 0x1234, kBroken, 4096, true, {}};
  { open_file(path_, one, {})->database->exec("INSERT INTO a VALUES (1)"); }
  ASSERT_FALSE(open_file(path_, broken, {}));
  EXPECT_EQ(open_file(path_, one, {})->database->execAndGet("SELECT count(*) FROM sqlite_master").getInt(),
            1);
  const auto opened = open_file(path_, two, {});
  ASSERT_TRUE(opened) << opened.error().what;
  EXPECT_EQ(opened->database->execAndGet("SELECT x + y FROM a").getInt(), 3);
  EXPECT_TRUE(std::filesystem::exists(path_ + ".before-v2"));
  const auto older = open_file(path_, one, {});
  ASSERT_FALSE(older);
  EXPECT_EQ(older.error().cause, Cause::bad_config);
}

// Without the right to write, SQLite can neither make the log's index nor lock: with and without a log.
TEST_F(StateStoreTest, IsReadFromAMediumThatCannotBeWritten) {
  const auto mark = [](SQLite::Database& database) {
    return database.execAndGet("SELECT value FROM mark").getInt();
  };
  const auto copy = directory_ / "copy.db";
  {
    auto store = this->store();
    commit(store, {.mark = 5, .now = now_});
    std::filesystem::copy_file(path_, copy);
    std::filesystem::copy_file(path_ + "-wal", copy + "-wal");
  }
  EXPECT_EQ(mark(*open_on_read_only_medium(copy)), 5);
  EXPECT_FALSE(std::filesystem::exists(copy + "-shm"));
  ASSERT_FALSE(std::filesystem::exists(path_ + "-wal"));
  EXPECT_EQ(mark(*open_on_read_only_medium(path_)), 5);
}

}  // namespace
}  // namespace coilward
