// The figures of keeping, one measurement a call, as lines of "name value". tools/bench calls it, again and
// again in turn with the others.
//
//   keep FORM DIRECTORY ZONES HOURS COMMIT_S   keeps a stream and counts bytes, disk and processor
//   grow FORM DIRECTORY DAYS                   makes a file of DAYS: history.db by copying a kept day's rows
//   to
//                                              the other days (24 zones), rows of one zone as they would be
//   thin FORM DIRECTORY DAYS                   those days of zone 3 in 1000 points, nothing of the file in
//   memory backup DIRECTORY                           history.db and state.db to DIRECTORY/copy, and what cp
//   takes
#include <fcntl.h>
#include <fmt/format.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <iostream>
#include <map>

#include "daemon/history/backup.h"
#include "daemon/history/history_schema.h"
#include "daemon/history/state_store.h"
#include "tools/benchmark/cpu_time.h"
#include "tools/benchmark/disk_count.h"
#include "tools/benchmark/keeping.h"
#include "tools/benchmark/stream.h"

namespace coilward::bench {
namespace {

const UtcTime kStart = from_ms(1'777'852'800'000);  // 2026-05-04T00:00:00Z
constexpr std::uint64_t kSeed = 20260504;
constexpr int kZoneAsked = 3;
constexpr int kDay = 86'400;

void say(std::string_view name, double value) { fmt::print("{} {:.6g}\n", name, value); }

class Stopwatch {
 public:
  void stop(const std::string& name) const {
    const std::chrono::duration<double, std::milli> passed = std::chrono::steady_clock::now() - began_;
    say(name + "_ms", passed.count());
    say(name + "_cpu_ms", (cpu_us() - cpu_) / 1000);
  }

 private:
  std::chrono::steady_clock::time_point began_ = std::chrono::steady_clock::now();
  double cpu_ = cpu_us();
};

double size_of(const std::string& path) { return static_cast<double>(std::filesystem::file_size(path)); }

void keep(const std::string& form, const std::string& directory, int zones, int hours, int commit_s) {
  ReadingStream stream(zones, kStart, kSeed);
  auto keeping = open_keeping(form, directory);
  const DiskCount disk(directory);
  double cpu = 0, count = 0;
  std::vector<Reading> readings;
  for (int at = 0; at < hours * 3600; at += commit_s) {
    readings = stream.seconds(commit_s);
    count += static_cast<double>(readings.size());
    const double before = cpu_us();
    keeping->commit(readings, stream.now());
    cpu += cpu_us() - before;
    disk.settle();  // as the minutes between two commits would
  }
  const double before = cpu_us();
  keeping->finish(stream.now() + std::chrono::hours{1});
  cpu += cpu_us() - before;
  disk.settle();
  const double days = hours / 24.0;
  say("readings", count);
  say("bytes_a_reading", size_of(file_of(form, directory)) / count);
  say("cpu_us_a_reading", cpu / count);
  if (const auto bytes = disk.device_bytes())
    say("device_mb_a_day", static_cast<double>(*bytes) / 1e6 / days);
  if (const auto flushes = disk.flushes()) say("device_flushes_a_day", static_cast<double>(*flushes) / days);
  say("process_mb_a_day", static_cast<double>(disk.process_bytes()) / 1e6 / days);
}

// Roll-ups tell their hour by their key alone, so a copied day answers what is asked of roll-ups as a kept
// one would, and fills as many pages.
void copy_days(const std::string& path, int days) {
  SQLite::Database database(path, SQLite::OPEN_READWRITE);
  database.exec("PRAGMA synchronous = OFF");
  for (int day = 1; day < days; ++day) {
    SQLite::Transaction transaction(database);
    const std::int64_t hours = day * 24;
    database.exec(
        fmt::format("INSERT OR REPLACE INTO chunk (id, body) SELECT id + {}, body FROM chunk WHERE id < {}",
                    chunk_id(hours, 0), chunk_id(to_ms(kStart) / 3'600'000 + 24, 0)));
    database.exec(fmt::format(
        "INSERT OR REPLACE INTO rollup (id, count, lowest, highest, sum, minutes) SELECT id + {}, count, "
        "lowest, highest, "
        "sum, minutes FROM rollup WHERE id < {}",
        rollup_id(hours, 0), rollup_id(to_ms(kStart) / 3'600'000 + 24, 0)));
    database.exec(fmt::format(
        "INSERT OR REPLACE INTO day (id, hours) SELECT id + {0}, hours FROM day WHERE id & 1048575 = "
        "{1}",
        day, to_ms(kStart) / 86'400'000));
    transaction.commit();
  }
  database.execAndGet("PRAGMA wal_checkpoint(TRUNCATE)");
}

void grow(const std::string& form, const std::string& directory, int days) {
  auto keeping = open_keeping(form, directory);
  if (form == "coilward") {
    ReadingStream stream(24, kStart, kSeed);
    for (int hour = 0; hour < 24; ++hour) keeping->commit(stream.seconds(3600), stream.now());
    keeping->finish(kStart + std::chrono::hours{26});
    return copy_days(file_of(form, directory), days);
  }
  ReadingStream stream(kZoneAsked, kStart, kSeed);
  for (int day = 0; day < days; ++day) {
    auto readings = stream.seconds(kDay);
    std::erase_if(readings, [](const Reading& r) { return r.channel.index != kZoneAsked; });
    keeping->commit(readings, stream.now());
  }
  keeping->finish(stream.now());
}

// So that the next reader finds nothing in memory: synced, then given up (posix_fadvise(2), DONTNEED).
void forget_cached(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return;
  ::fdatasync(file);
  ::posix_fadvise(file, 0, 0, POSIX_FADV_DONTNEED);
  ::close(file);
}

void thin(const std::string& form, const std::string& directory, int days) {
  const auto path = file_of(form, directory);
  for (const char* part : {"", "-wal", "-shm"}) forget_cached(path + part);
  const Stopwatch watch;
  auto keeping = open_keeping(form, directory);
  const auto points = keeping->thin(kZoneAsked, kStart, kStart + std::chrono::hours{24 * days}, 1000);
  watch.stop("thin");
  say("points", static_cast<double>(points));
}

void backup(const std::string& directory) {
  if (!StateStore::open(directory + "/state.db", "bench")) std::cerr << "no state.db\n";
  std::filesystem::remove_all(directory + "/copy");
  for (const char* name : {"/history.db", "/state.db"}) forget_cached(directory + name);
  const Stopwatch watch;
  const auto report = back_up(directory, directory + "/copy", kStart);
  watch.stop("backup");
  if (!report) std::cerr << report.error().what << "\n";
  say("backup_mb", size_of(directory + "/copy/history.db") / 1e6);
  forget_cached(directory + "/history.db");
  const Stopwatch plain;
  std::filesystem::copy_file(directory + "/history.db", directory + "/copy/plain");
  forget_cached(directory + "/copy/plain");
  plain.stop("plain_copy");
  std::filesystem::remove_all(directory + "/copy");
}

// In the text form that promtool reads (OpenMetrics 1.0), in mA.
void openmetrics(const std::string& path, int zones, int hours) {
  ReadingStream stream(zones, kStart, kSeed);
  std::FILE* file = std::fopen(path.c_str(), "w");
  fmt::print(file, "# TYPE current gauge\n");
  for (int second = 0; second < hours * 3600; ++second)
    for (const auto& reading : stream.seconds(1))
      fmt::print(file, "current{{zone=\"{}\"}} {:.0f} {}.{:03}\n", reading.channel.index,
                 reading.value * 1000, to_ms(reading.time) / 1000, to_ms(reading.time) % 1000);
  fmt::print(file, "# EOF\n");
  std::fclose(file);
}

}  // namespace

int run(std::span<char*> words) {
  const auto text = [&](std::size_t i) { return std::string(words[i]); };
  const auto number = [&](std::size_t i) { return std::stoi(words[i]); };
  if (words.size() == 7 && text(1) == "keep")
    return keep(text(2), text(3), number(4), number(5), number(6)), 0;
  if (words.size() == 5 && text(1) == "grow") return grow(text(2), text(3), number(4)), 0;
  if (words.size() == 5 && text(1) == "thin") return thin(text(2), text(3), number(4)), 0;
  if (words.size() == 5 && text(1) == "openmetrics") return openmetrics(text(2), number(3), number(4)), 0;
  if (words.size() == 3 && text(1) == "backup") return backup(text(2)), 0;
  std::cerr << "bench-history: keep, grow, thin, openmetrics or backup; see the head of its source\n";
  return 2;
}

}  // namespace coilward::bench

int main(int count, char** words) { return coilward::bench::run({words, static_cast<std::size_t>(count)}); }
