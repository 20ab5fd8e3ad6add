#include "daemon/history/database.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>

#include "daemon/history/file_tools.h"
#include "daemon/history/repair.h"

namespace coilward {
namespace {

constexpr int kBusyMs = 5000;

// secure_delete: Debian compiles it on, and it writes zeroes over every page that retention frees.
// synchronous FULL: a commit every few minutes costs one sync each, and with NORMAL a power cut takes
// everything since the last checkpoint, which may be hours. wal_autocheckpoint keeps the log near 4 MB;
// journal_size_limit cuts it back after an unusual transaction.
void set_pragmas(SQLite::Database& database, const FileKind& kind, int cache_kib) {
  database.setBusyTimeout(kBusyMs);
  database.exec(fmt::format("PRAGMA cache_size = -{}", cache_kib));
  database.exec("PRAGMA secure_delete = OFF");
  database.exec("PRAGMA synchronous = FULL");
  database.exec("PRAGMA journal_size_limit = 4194304");
  database.exec(fmt::format("PRAGMA wal_autocheckpoint = {}", 4'194'304 / kind.page_size));
  database.exec("PRAGMA temp_store = MEMORY");
}

// Before the first table: page size and auto_vacuum cannot be changed later without rewriting the file.
void set_shape(SQLite::Database& database, const FileKind& kind) {
  database.exec(fmt::format("PRAGMA page_size = {}", kind.page_size));
  database.exec("PRAGMA auto_vacuum = INCREMENTAL");
  database.execAndGet("PRAGMA journal_mode = WAL");
}

int pragma_number(SQLite::Database& database, const char* name) {
  return database.execAndGet(fmt::format("PRAGMA {}", name)).getInt();
}

std::string how_to_go_back(const std::string& path, int found, int known) {
  return fmt::format(
      "{} is of version {}, made by a newer coilward; this program knows up to {}. Go back: install the "
      "newer "
      "program again, or stop the daemon and put back the copy kept before the upgrade ({}.before-v{}) or a "
      "backup (coilward restore)",
      path, found, known, path, known + 1);
}

// The version to start from, or why this file is not ours to open.
Result<int> check_identity(SQLite::Database& database, const std::string& path, const FileKind& kind) {
  const int version = pragma_number(database, "user_version");
  const auto id = static_cast<std::uint32_t>(pragma_number(database, "application_id"));
  const int tables = database.execAndGet("SELECT count(*) FROM sqlite_master").getInt();
  if (id == 0 && version == 0 && tables == 0) return 0;
  if (id != kind.application_id)
    return Error{Cause::bad_config, fmt::format("{} is a database, but not a {} of coilward (application_id "
                                                "{:#x}, expected {:#x}): move it away",
                                                path, kind.name, id, kind.application_id)};
  const int known = static_cast<int>(kind.migrations.size());
  if (version > known) return Error{Cause::bad_config, how_to_go_back(path, version, known)};
  return version;
}

// A file that holds something is copied first: an upgrade that goes wrong must not cost the precious file.
void keep_copy(SQLite::Database& database, const std::string& path, int next_version) {
  const auto copy = fmt::format("{}.before-v{}", path, next_version);
  std::error_code ignored;
  std::filesystem::remove(copy, ignored);
  SQLite::Statement statement(database, "VACUUM INTO ?");
  statement.bind(1, copy);
  statement.exec();
}

void migrate(SQLite::Database& database, const std::string& path, const FileKind& kind, int version) {
  const int known = static_cast<int>(kind.migrations.size());
  if (version == known) return;
  if (version > 0) keep_copy(database, path, version + 1);
  SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
  for (int step = version; step < known; ++step) database.exec(std::string(kind.migrations[step]));
  database.exec(fmt::format("PRAGMA application_id = {}", static_cast<std::int32_t>(kind.application_id)));
  database.exec(fmt::format("PRAGMA user_version = {}", known));
  transaction.commit();
}

Result<std::unique_ptr<SQLite::Database>> open_to_write(const std::string& path, const FileKind& kind,
                                                        const StoreOptions& options) {
  auto database =
      std::make_unique<SQLite::Database>(path, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, kBusyMs);
  const auto version = check_identity(*database, path, kind);
  if (!version) return version.error();
  set_shape(*database, kind);
  set_pragmas(*database, kind, 1024);
  if (kind.check_at_open && !passes_quick_check(*database))
    throw SQLite::Exception("quick_check found damage", SQLITE_CORRUPT);
  migrate(*database, path, kind, *version);
  if (options.most_pages > 0) database->exec(fmt::format("PRAGMA max_page_count = {}", options.most_pages));
  return database;
}

Result<OpenedFile> open_or_repair(const std::string& path, const FileKind& kind,
                                  const StoreOptions& options) {
  try {
    auto database = open_to_write(path, kind, options);
    if (!database) return database.error();
    return OpenedFile{std::move(*database), {}};
  } catch (const SQLite::Exception& failure) {
    if (!means_damaged(failure)) throw;
  }
  auto moved = move_damaged_aside(path, options.now);
  if (!moved) return moved.error();
  auto database = open_to_write(path, kind, options);
  if (!database) return database.error();
  OpenedFile opened{std::move(*database), std::move(*moved)};
  opened.repair.salvaged = salvage_rows(*opened.database, opened.repair.moved_to, kind.salvage);
  opened.repair.what += fmt::format(", {} rows of it were carried over", opened.repair.salvaged);
  return opened;
}

bool exists(const std::string& path) {
  std::error_code error;
  return std::filesystem::exists(path, error);
}

std::unique_ptr<SQLite::Database> open_to_read(const std::string& path) {
  std::error_code error;
  const auto directory = std::filesystem::path(path).parent_path().string();
  const bool writable = access(directory.empty() ? "." : directory.c_str(), W_OK) == 0;
  if (!writable && !exists(path + "-shm")) return open_on_read_only_medium(path);
  return std::make_unique<SQLite::Database>(path, SQLite::OPEN_READONLY, kBusyMs);
}

Result<OpenedFile> open_read_only(const std::string& path, const FileKind& kind) {
  if (!exists(path)) return Error{Cause::not_found, fmt::format("there is no {}", path)};
  auto database = open_to_read(path);
  set_pragmas(*database, kind, 1024);
  const auto version = check_identity(*database, path, kind);
  if (!version) return version.error();
  if (*version < static_cast<int>(kind.migrations.size()))
    return Error{
        Cause::conflict,
        fmt::format("{} is of version {} and must be brought up to date first: start the daemon once", path,
                    *version)};
  return OpenedFile{std::move(database), {}};
}

}  // namespace

std::unique_ptr<SQLite::Database> open_on_read_only_medium(const std::string& path) {
  if (!exists(path + "-wal"))
    return std::make_unique<SQLite::Database>("file:" + path + "?immutable=1",
                                              SQLite::OPEN_READONLY | SQLite::OPEN_URI, kBusyMs);
  auto directory = (std::filesystem::temp_directory_path() / "coilward-XXXXXX").string();
  if (mkdtemp(directory.data()) == nullptr)
    throw SQLite::Exception("no temporary directory", SQLITE_CANTOPEN);
  const auto copy = directory + "/copy.db";
  std::filesystem::copy_file(path, copy);
  std::filesystem::copy_file(path + "-wal", copy + "-wal");
  auto database = std::make_unique<SQLite::Database>(copy, SQLite::OPEN_READWRITE, kBusyMs);
  database->execAndGet("SELECT count(*) FROM sqlite_master");  // takes the log in before the names go
  std::filesystem::remove_all(directory);
  return database;
}

Result<OpenedFile> open_file(const std::string& path, const FileKind& kind, const StoreOptions& options) {
  try {
    return options.mode == OpenMode::read_only ? open_read_only(path, kind)
                                               : open_or_repair(path, kind, options);
  } catch (const SQLite::Exception& failure) {
    return sqlite_error(failure, path);
  } catch (const std::filesystem::filesystem_error& failure) {
    return Error{Cause::world, failure.what()};
  }
}

Result<std::unique_ptr<SQLite::Database>> connect(const std::string& path, const FileKind& kind,
                                                  int cache_kib) {
  if (!exists(path)) return Error{Cause::not_found, fmt::format("there is no {}", path)};
  try {
    auto database = std::make_unique<SQLite::Database>(path, SQLite::OPEN_READWRITE, kBusyMs);
    set_pragmas(*database, kind, cache_kib);
    const auto version = check_identity(*database, path, kind);
    if (!version) return version.error();
    return database;
  } catch (const SQLite::Exception& failure) {
    return sqlite_error(failure, path);
  }
}

bool means_damaged(const SQLite::Exception& failure) {
  const int code = failure.getErrorCode() & 0xff;
  return code == SQLITE_CORRUPT || code == SQLITE_NOTADB;
}

bool says_damaged(const Error& error) { return error.what.starts_with("damaged: "); }

namespace {

// The -shm file that every connection needs is made by other means than the rest: SQLite calls it an I/O
// error when there is no room for it.
bool means_full(const SQLite::Exception& failure, const std::string& path) {
  constexpr std::uint64_t kRoomOfShm = 32768;
  const int kind = failure.getErrorCode() & 0xff;
  if (kind == SQLITE_FULL || kind != SQLITE_IOERR) return kind == SQLITE_FULL;
  std::error_code error;
  const auto space = std::filesystem::space(parent_of(path), error);
  return !error && space.available < kRoomOfShm;
}

}  // namespace

Error sqlite_error(const SQLite::Exception& failure, const std::string& path) {
  const char* kind = means_full(failure, path) ? "disk full: " : means_damaged(failure) ? "damaged: " : "";
  return {Cause::world, fmt::format("{}{}: {}", kind, path, failure.what())};
}

}  // namespace coilward
