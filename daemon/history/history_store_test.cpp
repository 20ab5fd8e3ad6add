#include "daemon/history/history_store.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "daemon/history/database.h"
#include "daemon/history/edges.h"
#include "daemon/history/history_fixture.h"

namespace coilward {
namespace {

using namespace test;

class HistoryStoreTest : public ::testing::Test {
 protected:
  HistoryStore store() {
    auto opened = HistoryStore::open(path_, two_commons());
    EXPECT_TRUE(opened) << opened.error().what;
    return std::move(*opened);
  }
  HistoryReader reader() {
    auto opened = HistoryReader::open(path_, two_commons());
    EXPECT_TRUE(opened) << opened.error().what;
    return std::move(*opened);
  }
  static void commit(HistoryStore& store, std::span<const Reading> readings,
                     std::optional<std::uint64_t> mark = std::nullopt) {
    const auto done = store.commit({readings, {}, mark});
    ASSERT_TRUE(done) << done.error().what;
  }

  TemporaryDirectory directory_;
  std::string path_ = directory_ / "history.db";
  UtcTime start_ = at("2026-05-04T05:00:00Z");
};

Run run_of(int zone, UtcTime start) {
  Run run;
  run.zone = zone;
  run.start = start;
  run.end = start + std::chrono::minutes{15};
  run.ended = RunEnd::switched_off;
  run.hold_amps = 0.231;
  run.readings = 900;
  return run;
}

TEST_F(HistoryStoreTest, KeepsReadingsRunsAndMark) {
  const auto readings = site_readings(start_, 700, 3, 1);
  {
    auto store = this->store();
    EXPECT_EQ(store.mark(), 0u);
    const std::vector<coilward::Run> runs = {run_of(2, start_)};
    ASSERT_TRUE(store.commit({readings, runs, 17}));
  }
  auto store = this->store();
  EXPECT_EQ(store.mark(), 17u);
  const auto reader = this->reader();
  EXPECT_EQ(reader.mark(), 17u);
  EXPECT_TRUE(same(all_readings(reader, zone_current(2)), of(readings, zone_current(2))));
  const auto run = reader.latest_run(2);
  ASSERT_TRUE(run && *run);
  EXPECT_EQ((*run)->hold_amps, 0.231);
  EXPECT_EQ((*run)->ended, RunEnd::switched_off);
}

TEST_F(HistoryStoreTest, ReplacesARunWithTheSameStart) {
  auto store = this->store();
  auto run = run_of(4, start_);
  ASSERT_TRUE(store.commit({{}, {&run, 1}, {}}));
  run.hold_amps = 0.25;
  ASSERT_TRUE(store.commit({{}, {&run, 1}, {}}));
  const auto runs = reader().runs({});
  ASSERT_TRUE(runs);
  ASSERT_EQ(runs->size(), 1u);
  EXPECT_EQ(runs->front().hold_amps, 0.25);
}

TEST_F(HistoryStoreTest, KeepsNothingOfABatchThatFails) {
  const auto readings = site_readings(start_, 80'000, 6, 2);
  auto opened = HistoryStore::open(path_, two_commons(), {.most_pages = 40});
  ASSERT_TRUE(opened);
  const auto refused = opened->commit({readings, {}, 9});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::world);
  EXPECT_TRUE(refused.error().what.starts_with("disk full: ")) << refused.error().what;
  EXPECT_EQ(opened->mark(), 0u);
  EXPECT_EQ(opened->counts().stored, 0u);
  commit(*opened, std::span(readings).first(600), 1);  // and it is not stuck
  EXPECT_EQ(all_readings(reader(), zone_current(1)).size(), 100u);
}

TEST_F(HistoryStoreTest, ReadsTheSameBeforeAndAfterPacking) {
  const auto readings = site_readings(start_, 3 * 3600, 3, 3);
  auto store = this->store();
  for (std::size_t i = 0; i < readings.size(); i += 900)
    commit(store, std::span(readings).subspan(i, std::min<std::size_t>(900, readings.size() - i)));
  const auto reader = this->reader();
  const auto truth = of(readings, zone_current(3));
  EXPECT_TRUE(same(all_readings(reader, zone_current(3)), truth));
  EXPECT_GT(tidy_all(store, start_ + std::chrono::hours{2}), 0);
  EXPECT_TRUE(same(all_readings(reader, zone_current(3)), truth));
  tidy_all(store, start_ + std::chrono::hours{9});
  EXPECT_TRUE(same(all_readings(reader, zone_current(3)), truth));
  EXPECT_EQ(store.counts().duplicates, 0u);
}

TEST_F(HistoryStoreTest, TakesReadingsOutOfOrderAndStoresEachOnce) {
  auto readings = site_readings(start_, 2 * 3600, 2, 4);
  const auto truth = of(readings, zone_current(1));
  std::mt19937 random(1);
  auto store = this->store();
  for (int round = 0; round < 3; ++round) {  // the second and third time while and after hours were packed
    std::shuffle(readings.begin(), readings.end(), random);
    for (std::size_t i = 0; i < readings.size(); i += 2400)
      commit(store, std::span(readings).subspan(i, 2400));
    tidy_all(store, start_ + std::chrono::hours{1 + 4 * round});
  }
  EXPECT_TRUE(same(all_readings(reader(), zone_current(1)), truth));
  EXPECT_EQ(store.counts().duplicates, 2 * readings.size());
}

TEST_F(HistoryStoreTest, RefusesTimesThatCannotBe) {
  auto store = this->store();
  const std::vector<Reading> readings = {{zone_current(1), kNever, 1},
                                         {zone_current(1), from_ms(9'000'000'000'000), 1},
                                         {zone_current(1), start_, 1, true}};
  commit(store, readings);
  EXPECT_EQ(store.counts().refused, 2u);
  const auto found = all_readings(reader(), zone_current(1));
  ASSERT_EQ(found.size(), 1u);
  EXPECT_TRUE(found[0].time_unsure);
}

TEST_F(HistoryStoreTest, FilesACommonByItsName) {
  const Reading reading{{ChannelKind::common_current, 1}, start_, 0.5};  // "north" stands second today
  auto store = this->store();
  commit(store, {&reading, 1});
  Config other;
  other.commons = {{"north", {}}, {"main", {}}};
  auto reader = HistoryReader::open(path_, ChannelNames(other));
  ASSERT_TRUE(reader);
  EXPECT_EQ(all_readings(*reader, {ChannelKind::common_current, 0}).size(), 1u);
  EXPECT_EQ(all_readings(*reader, {ChannelKind::common_current, 1}).size(), 0u);
}

TEST_F(HistoryStoreTest, DeletesOldRawReadingsAndKeepsRollUps) {
  auto store = this->store();
  const int zones = 2, days = 12;
  for (int day = 0; day < days; ++day)
    commit(store, site_readings(start_ + std::chrono::hours{24 * day}, 7200, zones, 5));
  const auto now = start_ + std::chrono::hours{24 * days};
  tidy_all(store, now);
  const auto reader = this->reader();
  const auto edges = *even_edges(start_, now, 3600);
  const auto before = *reader.buckets(zone_current(1), edges);
  tidy_all(store, now, 5);
  EXPECT_EQ(all_readings(reader, zone_current(1)).size(), 5u * 7200);
  const auto after = *reader.buckets(zone_current(1), edges);
  ASSERT_EQ(after.size(), before.size());
  EXPECT_EQ(after.size(), 2u * days);
  for (std::size_t i = 0; i < after.size(); ++i) EXPECT_EQ(after[i].values, before[i].values) << i;
}

TEST_F(HistoryStoreTest, ALateReadingDoesNotReplaceTheRollUpOfDeletedOnes) {
  auto store = this->store();
  commit(store, site_readings(start_, 3600, 1, 6));
  const auto now = start_ + std::chrono::hours{24 * 30};
  tidy_all(store, now, 10);
  const Reading late{zone_current(1), start_ + Millis{500}, 9.0};
  commit(store, {&late, 1});
  tidy_all(store, now, 10);
  const auto buckets = reader().buckets(zone_current(1), *even_edges(start_, now, 3600));
  ASSERT_TRUE(buckets);
  ASSERT_EQ(buckets->size(), 1u);
  EXPECT_EQ(buckets->front().values.count, 3600u);
}

// Three simulated years of one zone that is read every 10 s, half a day each week: the file stops growing
// with raw readings, and deleting keeps up with the inflow because each step is bounded and done after a
// commit.
TEST_F(HistoryStoreTest, StopsGrowing) {
  auto store = this->store();
  std::vector<std::uintmax_t> sizes;
  for (int week = 0; week < 3 * 52; ++week) {
    std::vector<Reading> readings;
    const auto monday = start_ + std::chrono::hours{24 * 7 * week};
    for (int i = 0; i < 4320; ++i)
      readings.push_back({zone_current(1), monday + Millis{i * 10'000}, (i * 7919 % 250) / 1000.0});
    commit(store, readings);
    tidy_all(store, monday + std::chrono::hours{24}, 60);
    if (week % 52 == 51) sizes.push_back(std::filesystem::file_size(path_));
  }
  const auto growth = sizes.back() - sizes.front();
  EXPECT_LT(growth, 2u * 52 * 12 * 600) << "roll-ups of two years";
  EXPECT_LE(all_readings(reader(), zone_current(1)).size(), 9u * 4320);
}

TEST_F(HistoryStoreTest, RefusesAFileOfANewerProgram) {
  store();
  { SQLite::Database(path_, SQLite::OPEN_READWRITE).exec("PRAGMA user_version = 99"); }
  const auto refused = HistoryStore::open(path_, two_commons());
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::bad_config);
  EXPECT_NE(refused.error().what.find("Go back"), std::string::npos);
}

TEST_F(HistoryStoreTest, RefusesSomeOtherDatabase) {
  { SQLite::Database(path_, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE).exec("CREATE TABLE a (b)"); }
  const auto refused = HistoryStore::open(path_, two_commons());
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::bad_config);
}

TEST_F(HistoryStoreTest, MovesADamagedFileAsideAndGoesOn) {
  { std::ofstream(path_) << std::string(50'000, 'x'); }
  auto store = this->store();
  EXPECT_NE(store.repair().what.find("damaged"), std::string::npos);
  EXPECT_TRUE(std::filesystem::exists(store.repair().moved_to));
  commit(store, site_readings(start_, 10, 1, 7));
  EXPECT_EQ(all_readings(reader(), zone_current(1)).size(), 10u);
}

}  // namespace
}  // namespace coilward
