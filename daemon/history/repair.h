// A damaged database file is moved aside, never deleted, and what can still be read of it goes over to the
// new one. Inside this folder only.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <span>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/history/store_options.h"

namespace coilward {

// PRAGMA quick_check. A file too damaged to be checked does not pass.
bool passes_quick_check(SQLite::Database& database);

// Renames PATH and its -wal to PATH.corrupt-TIME; the -shm goes. now: kNever for the system clock.
Result<Repair> move_damaged_aside(const std::string& path, UtcTime now);

// Copies rows of the tables, each from its start until something cannot be read, then from its end; rows
// that the new file refuses are skipped. How many came over. Never throws.
std::uint64_t salvage_rows(SQLite::Database& into, const std::string& damaged,
                           std::span<const std::string_view> tables);

}  // namespace coilward
