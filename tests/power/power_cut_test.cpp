// The power is cut at every moment of a keeper's day, and what was not synced is lost, kept or torn: the
// files are whole when it comes back, and what was said to be on the disk is there. Every tenth moment by
// default, every one with COILWARD_LONG in the environment.
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdlib>
#include <filesystem>
#include <iostream>

#include "daemon/history/outbox.h"
#include "daemon/history/state_directory.h"
#include "daemon/history/state_store.h"
#include "tests/power/day.h"

namespace coilward {
namespace {

struct Tally {
  std::uint64_t cuts = 0, whole = 0, findings_lost = 0, alerts_lost = 0, readings_lost = 0,
                readings_twice = 0;
  std::uint64_t most_units_behind = 0;
};

bool is_whole(const std::string& path) {
  SQLite::Database database(path, SQLite::OPEN_READWRITE);
  return database.execAndGet("PRAGMA integrity_check").getString() == "ok";
}

// What is on the disk after the cut, against what was said before it.
void judge(const std::string& directory, std::uint64_t said, Tally& tally) {
  FakeClock clock(day_start());
  auto keeper = Keeper::start(day_options(directory), {}, clock);
  ASSERT_TRUE(keeper) << keeper.error().what;
  const KeeperMarks marks = (*keeper)->marks();
  EXPECT_GE(marks.history, marks.state);
  EXPECT_GE(marks.history, said);
  tally.most_units_behind = std::max(tally.most_units_behind, said - std::min(said, marks.state));
  EXPECT_TRUE((*keeper)->health().repairs.empty()) << (*keeper)->health().repairs[0];
  auto reader = HistoryReader::open(history_path(directory), test::two_commons());
  ASSERT_TRUE(reader);
  std::set<UtcTime> times;
  const auto readings = test::all_readings(*reader, test::zone_current(1));
  for (const Reading& reading : readings) times.insert(reading.time);
  tally.readings_twice += readings.size() - times.size();
  const std::uint64_t promised = marks.history * kReadingsAUnit;
  tally.readings_lost += promised - std::min<std::uint64_t>(promised, readings.size());
  EXPECT_EQ(readings.size(), promised);
  const auto state = StateStore::open(state_path(directory), "s", {OpenMode::read_only});
  ASSERT_TRUE(state) << state.error().what;
  for (std::uint64_t number = 3; number <= said; number += 3)
    if (const auto found = state->finding("f" + std::to_string(number)); !found || !*found)
      ++tally.findings_lost;
  auto outbox = Outbox::open(state_path(directory));
  ASSERT_TRUE(outbox);
  const std::uint64_t queued = outbox->counts("mail")->pending;
  tally.alerts_lost += said / 3 - std::min(said / 3, queued);
  keeper->reset();
  if (is_whole(history_path(directory)) && is_whole(state_path(directory))) ++tally.whole;
}

std::uint64_t said_before(const std::vector<Said>& said, std::size_t step) {
  std::uint64_t unit = 0;
  for (const Said& each : said)
    if (each.step <= step) unit = each.unit;
  return unit;
}

TEST(PowerCut, AtAnyMomentOfADayLosesNothingThatWasSaidToBeDone) {
  TemporaryDirectory lived;
  std::vector<DiskStep> log;
  std::vector<Said> said;
  {
    const PowerVfs disk;
    said = live_through_day(lived.path(), disk);
    log = disk.log();
  }
  ASSERT_GT(log.size(), 400u);
  const std::size_t stride = std::getenv("COILWARD_LONG") ? 1 : 10;
  std::mt19937 random(4711);
  DiskImage image;
  Tally tally;
  for (std::size_t step = 0; step <= log.size(); ++step) {
    if (step % stride == 0)
      for (const Unsynced unsynced : {Unsynced::lost, Unsynced::kept, Unsynced::torn}) {
        TemporaryDirectory after;
        image.write_to(after.path(), unsynced, random);
        ++tally.cuts;
        judge(after.path(), said_before(said, step), tally);
        ASSERT_FALSE(testing::Test::HasFailure())
            << "step " << step << " of " << log.size() << ", " << static_cast<int>(unsynced);
      }
    if (step < log.size()) image.apply(log[step]);
  }
  std::cout << log.size() << " steps of the disk, " << tally.cuts << " cuts, " << tally.whole << " whole, "
            << tally.findings_lost << " findings lost, " << tally.alerts_lost << " alerts lost, "
            << tally.readings_lost << " readings lost that were said to be kept, " << tally.readings_twice
            << " twice; the snapshot at most " << tally.most_units_behind << " commits behind\n";
  EXPECT_EQ(tally.whole, tally.cuts);
  EXPECT_EQ(tally.findings_lost + tally.alerts_lost + tally.readings_lost + tally.readings_twice, 0u);
}

// What the replay of a cut would miss: a disk that forgets all that was not synced, and a program that does
// not sync.
TEST(PowerCut, TheDiskForgetsWhatWasNotSynced) {
  TemporaryDirectory lived, after;
  std::vector<DiskStep> log;
  {
    const PowerVfs disk;
    SQLite::Database database(lived / "a.db", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    database.exec("PRAGMA synchronous = OFF; CREATE TABLE t (x)");
    EXPECT_EQ(disk.syncs(), 0u);
    EXPECT_GT(disk.bytes_written(), 4096u);
    log = disk.log();
  }
  DiskImage image;
  for (const DiskStep& step : log) image.apply(step);
  std::mt19937 random(1);
  image.write_to(after.path(), Unsynced::lost, random);
  EXPECT_FALSE(std::filesystem::exists(after / "a.db"));
  image.write_to(after.path(), Unsynced::kept, random);
  SQLite::Database kept(after / "a.db");
  EXPECT_EQ(kept.execAndGet("SELECT count(*) FROM sqlite_master").getInt(), 1);
}

}  // namespace
}  // namespace coilward
