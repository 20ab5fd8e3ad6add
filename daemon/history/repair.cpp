#include "daemon/history/repair.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <cstdio>
#include <filesystem>

namespace coilward {
namespace {

std::string free_name(const std::string& path, UtcTime now) {
  if (now == kNever) now = std::chrono::time_point_cast<Millis>(std::chrono::system_clock::now());
  auto name = fmt::format("{}.corrupt-{}", path, format_compact(now));
  for (int n = 2; std::filesystem::exists(name); ++n)
    name = fmt::format("{}.corrupt-{}-{}", path, format_compact(now), n);
  return name;
}

std::string place_marks(int columns) {
  std::string marks = "?";
  for (int i = 1; i < columns; ++i) marks += ",?";
  return marks;
}

void copy_row(SQLite::Statement& from, SQLite::Statement& into) {
  for (int i = 0; i < from.getColumnCount(); ++i) {
    const auto column = from.getColumn(i);
    if (column.isInteger())
      into.bind(i + 1, column.getInt64());
    else if (column.isFloat())
      into.bind(i + 1, column.getDouble());
    else if (column.isNull())
      into.bind(i + 1);
    else if (column.isBlob())
      into.bind(i + 1, column.getBlob(), column.getBytes());
    else
      into.bind(i + 1, column.getString());
  }
}

std::uint64_t copy_until_damage(SQLite::Database& from, SQLite::Database& into, std::string_view table,
                                const char* order) {
  std::uint64_t copied = 0;
  try {
    SQLite::Statement read(from, fmt::format("SELECT * FROM {} ORDER BY rowid {}", table, order));
    SQLite::Statement write(
        into, fmt::format("INSERT OR IGNORE INTO {} VALUES ({})", table, place_marks(read.getColumnCount())));
    while (read.executeStep()) {
      copy_row(read, write);
      copied += static_cast<std::uint64_t>(write.exec());
      write.reset();
    }
  } catch (const SQLite::Exception&) {
    // The damaged place: what was read before it is kept.
  }
  return copied;
}

}  // namespace

bool passes_quick_check(SQLite::Database& database) {
  try {
    return database.execAndGet("PRAGMA quick_check(1)").getString() == "ok";
  } catch (const SQLite::Exception&) {
    return false;
  }
}

Result<Repair> move_damaged_aside(const std::string& path, UtcTime now) {
  Repair repair;
  repair.moved_to = free_name(path, now);
  if (std::rename(path.c_str(), repair.moved_to.c_str()) != 0)
    return Error{Cause::world, fmt::format("{} is damaged and cannot be moved aside", path)};
  std::rename((path + "-wal").c_str(), (repair.moved_to + "-wal").c_str());
  std::remove((path + "-shm").c_str());
  repair.what = fmt::format("{} was damaged: it was moved to {} and a new one begun", path, repair.moved_to);
  return repair;
}

std::uint64_t salvage_rows(SQLite::Database& into, const std::string& damaged,
                           std::span<const std::string_view> tables) {
  std::uint64_t copied = 0;
  if (tables.empty()) return 0;
  try {
    SQLite::Database from(damaged, SQLite::OPEN_READWRITE);  // so that its -wal is taken in
    SQLite::Transaction transaction(into);
    for (const auto table : tables) {
      copied += copy_until_damage(from, into, table, "ASC");
      copied += copy_until_damage(from, into, table, "DESC");
    }
    transaction.commit();
  } catch (const SQLite::Exception&) {
    return 0;
  }
  return copied;
}

}  // namespace coilward
