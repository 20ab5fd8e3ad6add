#include "daemon/history/history_reader.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "daemon/history/database.h"
#include "daemon/history/edges.h"
#include "daemon/history/history_fixture.h"

namespace coilward {
namespace {

using namespace test;

// Two days of two zones, of which the hours before noon of the second day are packed.
class HistoryReaderTest : public ::testing::Test {
 protected:
  void SetUp() override {
    auto store = HistoryStore::open(path_, two_commons());
    ASSERT_TRUE(store);
    for (int hour : {0, 1, 5, 30, 31, 40, 41}) {
      const auto more =
          site_readings(start_ + std::chrono::hours{hour}, 3600, 2, static_cast<std::uint64_t>(hour));
      readings_.insert(readings_.end(), more.begin(), more.end());
    }
    ASSERT_TRUE(store->commit({readings_, {}, {}}));
    tidy_all(*store, start_ + std::chrono::hours{36});
    const auto late = site_readings(start_ + std::chrono::hours{5} + Millis{7}, 60, 2, 77);
    readings_.insert(readings_.end(), late.begin(), late.end());
    ASSERT_TRUE(store->commit({late, {}, {}}));
    pending_ = site_readings(start_ + std::chrono::hours{42}, 100, 2, 78);
    auto opened = HistoryReader::open(path_, two_commons());
    ASSERT_TRUE(opened) << opened.error().what;
    reader_ = std::make_unique<HistoryReader>(std::move(*opened));
  }

  std::vector<Reading> truth(int zone, bool with_pending) {
    auto all = readings_;
    if (with_pending) all.insert(all.end(), pending_.begin(), pending_.end());
    return of(all, zone_current(zone));
  }
  // Every bucket against what the readings themselves say.
  void expect_true_buckets(double every_s, bool with_pending) {
    const auto edges = *even_edges(start_, start_ + std::chrono::hours{48}, every_s);
    const auto found =
        reader_->buckets(zone_current(1), edges,
                         with_pending ? std::span<const Reading>(pending_) : std::span<const Reading>());
    ASSERT_TRUE(found) << found.error().what;
    std::map<UtcTime, RollUp> wanted;
    for (const auto& reading : truth(1, with_pending))
      wanted[*(std::upper_bound(edges.begin(), edges.end(), reading.time) - 1)].add(reading.value);
    ASSERT_EQ(found->size(), wanted.size());
    for (const auto& bucket : *found) {
      const auto& want = wanted[bucket.start];
      EXPECT_EQ(bucket.values.count, want.count);
      EXPECT_EQ(bucket.values.lowest, want.lowest);
      EXPECT_EQ(bucket.values.highest, want.highest);
      EXPECT_NEAR(bucket.values.sum, want.sum, 1e-7);
    }
  }

  void commit_and_tidy(const std::vector<Reading>& more, bool tidied) {
    auto store = HistoryStore::open(path_, two_commons());
    ASSERT_TRUE(store && store->commit({more, {}, {}}));
    readings_.insert(readings_.end(), more.begin(), more.end());
    if (tidied) tidy_all(*store, start_ + std::chrono::hours{72});
  }
  int rows_of_days() {
    return SQLite::Database(path_, SQLite::OPEN_READONLY).execAndGet("SELECT count(*) FROM day").getInt();
  }

  TemporaryDirectory directory_;
  std::string path_ = directory_ / "history.db";
  UtcTime start_ = at("2026-05-04T00:00:00Z");
  std::vector<Reading> readings_, pending_;
  std::unique_ptr<HistoryReader> reader_;
};

TEST_F(HistoryReaderTest, ReadsAllWithAndWithoutPending) {
  EXPECT_TRUE(same(all_readings(*reader_, zone_current(2)), truth(2, false)));
  EXPECT_TRUE(same(all_readings(*reader_, zone_current(2), pending_), truth(2, true)));
  EXPECT_TRUE(same(all_readings(*reader_, zone_current(2), readings_), truth(2, false)));  // both: once
  EXPECT_TRUE(all_readings(*reader_, zone_current(9)).empty());
}

TEST_F(HistoryReaderTest, AnswersWholeHoursFromRolledUpDays) {
  commit_and_tidy({}, true);
  EXPECT_EQ(rows_of_days(), 2 * 2);
  for (const double every_s : {3600.0, 7200.0, 86400.0}) expect_true_buckets(every_s, false);
  commit_and_tidy(site_readings(start_ + std::chrono::hours{6}, 60, 2, 80), false);
  expect_true_buckets(10800, false);
  commit_and_tidy({}, true);
  EXPECT_EQ(rows_of_days(), 2 * 2);
  expect_true_buckets(10800, true);
}

TEST_F(HistoryReaderTest, CutsAtBothEnds) {
  const auto from = start_ + Millis{1'800'500}, until = start_ + Millis{5'400'250};
  const auto page = reader_->page(zone_current(1), from, until);
  ASSERT_TRUE(page);
  auto want = truth(1, false);
  std::erase_if(want, [&](const Reading& r) { return r.time < from || r.time >= until; });
  EXPECT_TRUE(same(page->readings, want));
  EXPECT_EQ(page->next, kNever);
  EXPECT_TRUE(reader_->page(zone_current(1), until, from)->readings.empty());
}

TEST_F(HistoryReaderTest, BucketsSayWhatTheReadingsSay) {
  for (const bool with_pending : {false, true})
    for (const double every : {7.0, 60.0, 600.0, 3600.0, 7200.0, 86'400.0})
      expect_true_buckets(every, with_pending);
}

TEST_F(HistoryReaderTest, StopsWhenTheReaderOfThePagesHasEnough) {
  int pages = 0;
  const auto done = reader_->each_reading(zone_current(1), start_, start_ + std::chrono::hours{48}, {},
                                          [&](auto) { return ++pages < 1; });
  ASSERT_TRUE(done);
  EXPECT_FALSE(*done);
  EXPECT_EQ(pages, 1);
}

TEST_F(HistoryReaderTest, KnowsChannelsAndTheirExtent) {
  EXPECT_EQ(reader_->channels()->size(), 2u);
  const auto extent = reader_->extent(zone_current(1));
  ASSERT_TRUE(extent && *extent);
  EXPECT_EQ((*extent)->from, start_);
  EXPECT_EQ((*extent)->until, start_ + std::chrono::hours{42});
  EXPECT_FALSE(reader_->extent(zone_current(9))->has_value());
}

TEST_F(HistoryReaderTest, FindsRuns) {
  {
    auto store = HistoryStore::open(path_, two_commons());
    std::vector<coilward::Run> runs(6);
    for (int i = 0; i < 6; ++i) {
      runs[i].zone = i % 2 + 1;
      runs[i].start = start_ + std::chrono::hours{i};
      runs[i].end = runs[i].start + std::chrono::minutes{10};
    }
    ASSERT_TRUE(store->commit({{}, runs, {}}));
  }
  EXPECT_EQ(reader_->runs({})->size(), 6u);
  EXPECT_EQ(reader_->runs({.zone = 2})->size(), 3u);
  EXPECT_EQ(reader_->runs({.from = start_ + std::chrono::hours{4}})->size(), 2u);
  EXPECT_EQ(reader_->runs({.until = start_ + std::chrono::hours{4}, .limit = 3})->size(), 3u);
  EXPECT_EQ(reader_->latest_run(1)->value().start, start_ + std::chrono::hours{4});
  EXPECT_FALSE(reader_->latest_run(7)->has_value());
}

// An export held open at a slow client must not make the log grow: no transaction is open while it waits.
TEST_F(HistoryReaderTest, ASlowReaderDoesNotHoldTheLog) {
  auto store = HistoryStore::open(path_, two_commons());
  ASSERT_TRUE(store);
  std::uintmax_t longest = 0;
  const auto done =
      reader_->each_reading(zone_current(1), start_, start_ + std::chrono::hours{48}, {}, [&](auto) {
        for (int i = 0; i < 40; ++i) {
          const auto more =
              site_readings(start_ + std::chrono::hours{100 + i}, 3600, 8, static_cast<std::uint64_t>(i));
          EXPECT_TRUE(store->commit({more, {}, {}}));
          longest = std::max(longest, std::filesystem::file_size(path_ + "-wal"));
        }
        return true;
      });
  EXPECT_TRUE(done);
  EXPECT_LT(longest, 8u << 20);
}

}  // namespace
}  // namespace coilward
