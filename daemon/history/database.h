// One SQLite connection, opened the way this folder needs it. Inside this folder only: it includes
// SQLiteCpp, and SQLiteCpp's exceptions end in guarded().
#pragma once

#include <sqlite3.h>
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/store_options.h"

namespace coilward {

// What a kind of file is, and how each version becomes the next. migrations[0] makes version 1 from nothing.
struct FileKind {
  const char* name;
  std::uint32_t application_id;
  std::span<const std::string_view> migrations;
  int page_size;
  bool check_at_open;  // quick_check; for a small file only
  // Of the result: tables that are carried over from a damaged file.
  std::span<const std::string_view> salvage;
};

struct OpenedFile {
  std::unique_ptr<SQLite::Database> database;
  Repair repair;
};

// Opens, checks, repairs and migrates (one transaction, after a copy PATH.before-vN of a file that holds
// something). Errors as said at HistoryStore::open and StateStore::open.
Result<OpenedFile> open_file(const std::string& path, const FileKind& kind, const StoreOptions& options);

// A second connection to a file that exists and is up to date. cache_kib: of its page cache.
Result<std::unique_ptr<SQLite::Database>> connect(const std::string& path, const FileKind& kind,
                                                  int cache_kib);

// For a medium that cannot be written: without a log, SQLite is told that nothing changes; with one, a copy
// in a temporary directory is opened, since the log's index must be written somewhere.
std::unique_ptr<SQLite::Database> open_on_read_only_medium(const std::string& path);

// "disk full: ..." or what else went wrong, as a sentence.
Error sqlite_error(const SQLite::Exception& failure, const std::string& path);
bool means_damaged(const SQLite::Exception& failure);
// Whether an error made by sqlite_error says that the file is damaged.
bool says_damaged(const Error& error);

// Runs `body`, which may throw SQLite::Exception (or, on a row of an unknown shape, what nlohmann throws);
// returns what it returns.
template <class Body>
auto guarded(const std::string& path, Body&& body) -> Result<decltype(body())> {
  try {
    return body();
  } catch (const SQLite::Exception& failure) {
    return sqlite_error(failure, path);
  } catch (const std::exception& failure) {
    return Error{Cause::world, path + ": " + failure.what()};
  }
}

// A statement made once and used again: binds in order, runs, resets. T: integers, double,
// std::string(_view).
class Prepared {
 public:
  Prepared(SQLite::Database& database, const char* sql) : statement_(database, sql) {}

  template <class... T>
  void run(const T&... values) {
    start(values...);
    statement_.exec();
    statement_.reset();
  }
  // Then step with next() and read column(); call done() before the next use.
  template <class... T>
  void start(const T&... values) {
    statement_.tryReset();  // reset() would throw the failure of the run before once more
    statement_.clearBindings();
    int index = 0;
    (bind(++index, values), ...);
  }
  bool next() { return statement_.executeStep(); }
  SQLite::Column column(int index) { return statement_.getColumn(index); }
  void done() { statement_.reset(); }

 private:
  template <class T>
  void bind(int index, const T& value) {
    if constexpr (std::is_integral_v<T>)
      statement_.bind(index, static_cast<std::int64_t>(value));
    else if constexpr (std::is_floating_point_v<T>)
      statement_.bind(index, static_cast<double>(value));
    else
      statement_.bind(index, std::string(value));
  }
  SQLite::Statement statement_;
};

struct Blob {
  std::string_view bytes;
};
template <>
inline void Prepared::bind<Blob>(int index, const Blob& value) {
  statement_.bind(index, value.bytes.data(), static_cast<int>(value.bytes.size()));
}

inline std::string_view bytes_of(const SQLite::Column& column) {
  const void* data = column.getBlob();
  return {static_cast<const char*>(data), static_cast<std::size_t>(column.getBytes())};
}

}  // namespace coilward
