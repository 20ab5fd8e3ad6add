#include "daemon/history/backup.h"

#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "daemon/history/history_fixture.h"
#include "daemon/history/keeper.h"
#include "daemon/history/state_directory.h"

namespace coilward {
namespace {

using namespace test;
using std::chrono::milliseconds;

class BackupTest : public ::testing::Test {
 protected:
  std::unique_ptr<Keeper> keeper(const std::string& directory, KeeperEvents events = {}) {
    KeeperOptions options;
    options.directory = directory;
    options.site = "s";
    options.names = two_commons();
    options.spare_bytes = 0;
    auto started = Keeper::start(options, std::move(events), clock_);
    EXPECT_TRUE(started) << started.error().what;
    return std::move(*started);
  }
  CommitUnit unit(std::uint64_t mark) {
    CommitUnit unit;
    unit.readings = site_readings(start_ + milliseconds{60'000 * static_cast<int>(mark)}, 60, 2, mark);
    unit.snapshot = "{}";
    unit.mark = mark;
    return unit;
  }
  std::size_t readings_in(const std::string& directory) {
    auto reader = HistoryReader::open(history_path(directory), two_commons());
    EXPECT_TRUE(reader) << reader.error().what;
    return reader ? all_readings(*reader, zone_current(1)).size() : 0;
  }

  TemporaryDirectory directory_;
  std::string live_ = directory_ / "live";
  UtcTime start_ = at("2026-05-04T05:00:00Z");
  FakeClock clock_{start_ + std::chrono::hours{1}};
};

// Each backup opens, passes its check and holds every row committed before it began, while the keeper
// commits and packs as fast as it can.
TEST_F(BackupTest, HoldsWhatWasCommittedBeforeItBegan) {
  const auto lock = StateDirectory::lock(live_);
  std::atomic<std::uint64_t> complete{0};
  auto keeper = this->keeper(live_, {.on_complete = [&](std::uint64_t mark) { complete = mark; }});
  std::jthread writer([&](std::stop_token stop) {
    for (std::uint64_t mark = 1; !stop.stop_requested(); ++mark) {
      keeper->post(unit(mark));
      keeper->flush(milliseconds{20'000});
    }
  });
  for (int round = 0; round < 20; ++round) {
    const auto before = complete.load();
    const auto target = directory_ / ("backup" + std::to_string(round));
    const auto report = back_up(live_, target, start_);
    ASSERT_TRUE(report) << report.error().what;
    ASSERT_EQ(report->files.size(), 2u);
    ASSERT_TRUE(verify_backup(target));
    EXPECT_GE(readings_in(target), before * 60) << round;
    const auto history = HistoryReader::open(history_path(target), two_commons());
    const auto state = StateStore::open(state_path(target), "s", {.mode = OpenMode::read_only});
    EXPECT_GE(history->mark(), *state->mark());
    EXPECT_GE(*state->mark(), before);
    EXPECT_FALSE(std::filesystem::exists(target + ".partial"));
  }
  writer.request_stop();
  writer.join();
  EXPECT_GT(complete.load(), 0u);
}

TEST_F(BackupTest, IsRestoredAndTheOldFilesStay) {
  const auto backup = directory_ / "backup";
  {
    const auto lock = StateDirectory::lock(live_);
    auto keeper = this->keeper(live_);
    keeper->post(unit(1));
    ASSERT_TRUE(keeper->flush(milliseconds{20'000}));
    ASSERT_TRUE(back_up(live_, backup, start_));
    keeper->post(unit(2));
    ASSERT_TRUE(keeper->stop(milliseconds{20'000}));
    const auto refused = restore_backup(backup, live_, start_);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().cause, Cause::conflict);
    EXPECT_EQ(readings_in(live_), 120u);
  }
  const auto restored = restore_backup(backup, live_, start_);
  ASSERT_TRUE(restored) << restored.error().what;
  EXPECT_EQ(readings_in(live_), 60u);
  EXPECT_TRUE(std::filesystem::exists(live_ + "/history.db.before-restore-20260504-050000"));
  EXPECT_TRUE(std::filesystem::exists(live_ + "/state.db.before-restore-20260504-050000"));
  const auto keeper = this->keeper(live_);
  EXPECT_EQ(keeper->marks().state, 1u);
}

TEST_F(BackupTest, RefusesWhatIsNotWhole) {
  const auto backup = directory_ / "backup";
  {
    const auto lock = StateDirectory::lock(live_);
    auto keeper = this->keeper(live_);
    keeper->post(unit(1));
    ASSERT_TRUE(keeper->stop(milliseconds{20'000}));
  }
  ASSERT_TRUE(back_up(live_, backup, start_));
  const auto again = back_up(live_, backup, start_);
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().cause, Cause::conflict);
  {
    std::fstream file(history_path(backup), std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(20'000);
    file << "x";
  }
  const auto refused = restore_backup(backup, live_, start_);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::bad_input);
  EXPECT_EQ(readings_in(live_), 60u);
  EXPECT_FALSE(verify_backup(live_));
  const auto nothing = back_up(directory_ / "nowhere", directory_ / "b2", start_);
  ASSERT_FALSE(nothing);
  EXPECT_EQ(nothing.error().cause, Cause::not_found);
  EXPECT_FALSE(std::filesystem::exists(directory_ / "b2.partial"));
}

TEST_F(BackupTest, CutShortItLeavesNothing) {
  const auto target = directory_ / "backup";
  const auto lock = StateDirectory::lock(live_);
  auto keeper = this->keeper(live_);
  CommitUnit much = unit(1);
  for (int i = 0; i < 16; ++i) much.values.push_back({std::to_string(i), std::string(1u << 20, 'x')});
  keeper->post(std::move(much));
  ASSERT_TRUE(keeper->flush(milliseconds{20'000}));
  std::stop_source stop;
  std::jthread stopper([&](const std::stop_token& over) {
    while (!over.stop_requested() && !std::filesystem::exists(target + ".partial/state.db"))
      std::this_thread::yield();
    stop.request_stop();
  });
  const auto report = back_up(live_, target, start_, stop.get_token());
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().what, target + " was cut short");
  EXPECT_FALSE(std::filesystem::exists(target));
  EXPECT_FALSE(std::filesystem::exists(target + ".partial"));
}

}  // namespace
}  // namespace coilward
