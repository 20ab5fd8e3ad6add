// A keeper killed at random moments, again and again: what a restart finds is what the marks say, and every
// reading is there once.
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <thread>

#include "daemon/history/database.h"
#include "daemon/history/history_fixture.h"
#include "daemon/history/keeper.h"
#include "daemon/history/outbox.h"
#include "daemon/history/row_parts.h"
#include "daemon/history/state_directory.h"

namespace coilward {
namespace {

using namespace test;
using std::chrono::milliseconds;

constexpr int kReadingsARecord = 5;

// What record number `sequence` of a spool holds: always the same.
CommitUnit record(std::uint64_t sequence, std::uint64_t already_stored) {
  CommitUnit unit;
  const auto start = at("2026-05-04T05:00:00Z") + milliseconds{5000 * static_cast<int>(sequence)};
  if (sequence > already_stored) unit.readings = site_readings(start, kReadingsARecord, 1, sequence);
  Finding finding;
  finding.id = "f" + std::to_string(sequence);
  finding.opened = finding.updated = start;
  unit.findings.push_back(finding);
  unit.outbox.push_back({"a" + std::to_string(sequence), "mail", "{}", start});
  unit.snapshot = std::to_string(sequence);
  unit.mark = sequence;
  return unit;
}

KeeperOptions options(const std::string& directory) {
  KeeperOptions options;
  options.directory = directory;
  options.site = "s";
  options.names = two_commons();
  options.spare_bytes = 0;
  return options;
}

// Goes on from the state's mark as the wiring does, and writes each completed mark to `fd`, until killed.
[[noreturn]] void work_until_killed(const std::string& directory, int fd) {
  const FakeClock clock(at("2026-05-04T05:00:00Z"));  // no hour is over: nothing is united
  KeeperEvents events;
  events.on_complete = [fd](std::uint64_t mark) { (void)!write(fd, &mark, sizeof mark); };
  auto keeper = Keeper::start(options(directory), events, clock);
  if (!keeper) _exit(1);
  const auto marks = (*keeper)->marks();
  for (auto sequence = marks.state + 1;; ++sequence) {
    (*keeper)->post(record(sequence, marks.history));
    if (sequence % 7 != 0) (*keeper)->flush(milliseconds{60'000});
  }
}

// Waits until the child completed something, then a while, then kills it. The last mark it told.
std::uint64_t kill_after(pid_t child, int fd, milliseconds while_) {
  std::uint64_t mark = 0, last = 0;
  EXPECT_EQ(read(fd, &last, sizeof last), static_cast<ssize_t>(sizeof last)) << "the child did nothing";
  std::this_thread::sleep_for(while_);  // the moment of the kill, not a wait for something
  kill(child, SIGKILL);
  while (read(fd, &mark, sizeof mark) == sizeof mark) last = mark;
  int status = 0;
  waitpid(child, &status, 0);
  EXPECT_TRUE(WIFSIGNALED(status));
  return last;
}

// Readings as they lie in the file, not united.
std::uint64_t rows_stored(const std::string& path) {
  SQLite::Database database(path, SQLite::OPEN_READONLY);
  std::uint64_t rows = 0;
  SQLite::Statement select(database, "SELECT body FROM chunk UNION ALL SELECT body FROM batch");
  while (select.executeStep())
    if (const auto parts = take_parts(bytes_of(select.getColumn(0))))
      for (const auto& part : *parts)
        if (const auto header = read_chunk_header(part.chunk)) rows += header->count;
  return rows;
}

void expect_as_the_marks_say(const std::string& directory, std::uint64_t told) {
  const FakeClock clock(at("2026-05-04T05:00:00Z"));
  auto keeper = Keeper::start(options(directory), {}, clock);
  ASSERT_TRUE(keeper) << keeper.error().what;
  const auto marks = (*keeper)->marks();
  EXPECT_GE(marks.state, told);
  EXPECT_GE(marks.history, marks.state);
  EXPECT_EQ((*keeper)->snapshot().json, std::to_string(marks.state));
  EXPECT_TRUE((*keeper)->health().repairs.empty());
  auto reader = HistoryReader::open(history_path(directory), two_commons());
  ASSERT_TRUE(reader);
  EXPECT_EQ(all_readings(*reader, zone_current(1)).size(), marks.history * kReadingsARecord);
  auto outbox = Outbox::open(state_path(directory));
  ASSERT_TRUE(outbox);
  EXPECT_EQ(outbox->counts("mail")->pending, marks.state);
  EXPECT_EQ(rows_stored(history_path(directory)), marks.history * kReadingsARecord);
}

TEST(KeeperKill, LosesNothingItSaidWasDoneAndStoresNothingTwice) {
  TemporaryDirectory directory;
  std::mt19937 random(20260504);
  for (int round = 0; round < 25; ++round) {
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    const pid_t child = fork();
    if (child == 0) work_until_killed(directory.path(), ends[1]);
    close(ends[1]);
    const auto told = kill_after(child, ends[0], milliseconds{random() % 60});
    close(ends[0]);
    expect_as_the_marks_say(directory.path(), told);
  }
}

}  // namespace
}  // namespace coilward
