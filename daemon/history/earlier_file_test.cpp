// history.db as the build of version 1 wrote it (earlier/history-v1.db): two zones with a reading every two
// seconds for two hours that were packed and ten minutes that were not, one run, mark 77.
#include <filesystem>

#include "daemon/history/database.h"
#include "daemon/history/edges.h"
#include "daemon/history/history_fixture.h"

namespace coilward {
namespace {

using namespace test;
constexpr std::int64_t kBegan = 1'777'870'800'000;  // 2026-05-04T05:00:00Z

// What went into it, by the same arithmetic.
std::vector<Reading> kept(int zone) {
  std::vector<Reading> readings;
  for (int s = 0; s < 2 * 3600 + 600; s += 2)
    readings.push_back({zone_current(zone), from_ms(kBegan + std::int64_t{s} * 1000 + s * 7919LL % 11),
                        static_cast<double>(200 + 10 * zone + s * 104729LL % 7) / 1000.0});
  return readings;
}

class EarlierFile : public ::testing::Test {
 protected:
  void SetUp() override {
    std::filesystem::copy_file(COILWARD_SOURCE_DIR "/daemon/history/earlier/history-v1.db", path_);
  }
  void expect_all_there() {
    const auto reader = HistoryReader::open(path_, two_commons());
    ASSERT_TRUE(reader) << reader.error().what;
    for (int zone : {1, 2}) EXPECT_TRUE(same(all_readings(*reader, zone_current(zone)), kept(zone)));
    EXPECT_EQ(reader->runs({})->size(), 1u);
    EXPECT_EQ(reader->mark(), 77u);
    const auto buckets =
        reader->buckets(zone_current(1), *even_edges(from_ms(kBegan), from_ms(kBegan + 3 * kHourMs), 3600));
    ASSERT_TRUE(buckets && buckets->size() == 3);
    RollUp truth;
    for (const auto& reading : kept(1)) truth.add(reading.value);
    RollUp told;
    for (const auto& bucket : *buckets) told.add(bucket.values);
    EXPECT_EQ(told.count, truth.count);
    EXPECT_EQ(told.highest, truth.highest);
    EXPECT_NEAR(told.sum, truth.sum, 1e-6);
  }

  TemporaryDirectory directory_;
  const std::string path_ = directory_ / "history.db";
};

TEST_F(EarlierFile, IsReadOnAndPackedOn) {
  auto store = HistoryStore::open(path_, two_commons());
  ASSERT_TRUE(store) << store.error().what;
  EXPECT_EQ(store->mark(), 77u);
  expect_all_there();
  tidy_all(*store, from_ms(kBegan + 48 * kHourMs));
  expect_all_there();
}

TEST_F(EarlierFile, IsKeptAsItWasBesideTheNew) {
  ASSERT_TRUE(HistoryStore::open(path_, two_commons()));
  SQLite::Database before(path_ + ".before-v2", SQLite::OPEN_READONLY);
  EXPECT_EQ(before.execAndGet("PRAGMA user_version").getInt(), 1);
  EXPECT_EQ(before.execAndGet("SELECT count(*) FROM chunk").getInt(), 4);
}

}  // namespace
}  // namespace coilward
