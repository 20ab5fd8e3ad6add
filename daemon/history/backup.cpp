#include "daemon/history/backup.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/history/file_tools.h"
#include "daemon/history/history_schema.h"
#include "daemon/history/notes_schema.h"
#include "daemon/history/state_directory.h"
#include "daemon/history/state_schema.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
constexpr const char* kManifest = "/manifest.json";
// state.db first: the copy's history mark is then at or after its state mark.
constexpr std::array kAllFiles = {&kStateFile, &kHistoryFile, &kNotesFile};

const FileKind* kind_of(const std::string& name) {
  for (const FileKind* kind : kAllFiles)
    if (name == kind->name) return kind;
  return nullptr;
}

// While it lives, a statement of the connection ends when `stop` is asked for.
class EndsWith {
 public:
  EndsWith(SQLite::Database& database, std::stop_token stop)
      : stop_(std::move(stop)),
        interrupt_(stop_, [handle = database.getHandle()] { sqlite3_interrupt(handle); }) {
    // A request between two statements would be lost to sqlite3_interrupt.
    sqlite3_progress_handler(
        database.getHandle(), kSteps,
        [](void* stop) { return static_cast<std::stop_token*>(stop)->stop_requested() ? 1 : 0; }, &stop_);
  }

 private:
  static constexpr int kSteps = 1000;  // of SQLite's machine between two looks: well under a millisecond
  std::stop_token stop_;
  std::stop_callback<std::function<void()>> interrupt_;
};

// VACUUM INTO copies one read snapshot, whole, without the log; it does not sync what it wrote.
Result<bool> copy_database(const std::string& from, const FileKind& kind, const std::string& to,
                           const std::stop_token& stop) {
  auto database = connect(from, kind, 1024);
  if (!database) return database.error();
  auto copied = guarded(from, [&] {
    const EndsWith ends(**database, stop);
    SQLite::Statement statement(**database, "VACUUM INTO ?");
    statement.bind(1, to);
    statement.exec();
    return true;
  });
  if (!copied) return copied.error();
  return sync_file(to);
}

Result<bool> check_database(const std::string& path, const FileKind& kind, const std::stop_token& stop = {}) {
  auto checked = guarded(path, [&] {
    SQLite::Database database("file:" + path + "?immutable=1", SQLite::OPEN_READONLY | SQLite::OPEN_URI);
    const EndsWith ends(database, stop);
    const auto id = static_cast<std::uint32_t>(database.execAndGet("PRAGMA application_id").getInt());
    return id == kind.application_id && database.execAndGet("PRAGMA integrity_check(1)").getString() == "ok";
  });
  if (!checked) return checked.error();
  if (!*checked) return Error{Cause::bad_input, path + " does not pass its check"};
  return true;
}

Json manifest_of(const BackupReport& report) {
  Json files = Json::array();
  for (const auto& file : report.files)
    files.push_back({{"name", file.name}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  return {{"coilward_backup", 1}, {"taken", time_or_null(report.taken)}, {"files", files}};
}

Result<BackupReport> read_manifest(const std::string& backup) {
  std::ifstream in(backup + kManifest);
  if (!in) return Error{Cause::bad_input, fmt::format("{} is no backup: it has no manifest.json", backup)};
  try {
    const auto json = Json::parse(in);
    if (json.at("coilward_backup") != 1)
      return Error{Cause::bad_input, fmt::format("{} was made by a newer coilward", backup)};
    BackupReport report{backup, parse_rfc3339(json.at("taken").get<std::string>()).value_or(kNever), {}};
    for (const auto& file : json.at("files"))
      report.files.push_back({file.at("name").get<std::string>(), file.at("bytes").get<std::uint64_t>(),
                              file.at("sha256").get<std::string>()});
    return report;
  } catch (const nlohmann::json::exception& failure) {
    return Error{Cause::bad_input, fmt::format("{}{}: {}", backup, kManifest, failure.what())};
  }
}

Result<BackupFile> describe(const std::string& directory, const std::string& name) {
  const auto sum = sha256_of_file(directory + "/" + name);
  if (!sum) return sum.error();
  return BackupFile{name, fs::file_size(directory + "/" + name), *sum};
}

Result<bool> add_file(const std::string& from, const FileKind& kind, BackupReport& report,
                      const std::stop_token& stop) {
  const auto to = fmt::format("{}/{}", report.directory, kind.name);
  if (auto copied = copy_database(from, kind, to, stop); !copied) return copied;
  if (auto sound = check_database(to, kind, stop); !sound) return sound;
  auto file = describe(report.directory, kind.name);
  if (!file) return file.error();
  report.files.push_back(std::move(*file));
  return true;
}

Result<bool> write_manifest(const BackupReport& report) {
  const auto path = report.directory + kManifest;
  std::ofstream(path) << manifest_of(report).dump(2) << "\n";
  return sync_file(path);
}

Result<BackupReport> fill_backup(const std::string& state_directory, BackupReport report,
                                 const std::stop_token& stop) {
  for (const FileKind* kind : kAllFiles) {
    const auto path = fmt::format("{}/{}", state_directory, kind->name);
    if (kind != &kStateFile && !fs::exists(path)) continue;
    if (auto added = add_file(path, *kind, report, stop); !added) return added.error();
  }
  if (auto written = write_manifest(report); !written) return written.error();
  if (auto synced = sync_directory(report.directory); !synced) return synced.error();
  return report;
}

}  // namespace

Result<BackupReport> back_up(const std::string& state_directory, const std::string& target, UtcTime now,
                             std::stop_token stop) {
  std::error_code error;
  if (fs::exists(target, error)) return Error{Cause::conflict, fmt::format("{} exists already", target)};
  const auto partial = target + ".partial";
  fs::remove_all(partial, error);
  if (!fs::create_directories(partial, error))
    return Error{Cause::world, fmt::format("{} cannot be made: {}", partial, error.message())};
  chmod(partial.c_str(), 0750);
  auto report = fill_backup(state_directory, {partial, now, {}}, stop);
  if (stop.stop_requested()) report = Error{Cause::world, target + " was cut short"};
  if (report) fs::rename(partial, target, error);
  if (!report || error) {
    const auto why = report ? Error{Cause::world, error.message()} : report.error();
    fs::remove_all(partial, error);
    return why;
  }
  if (auto synced = sync_directory(parent_of(target)); !synced) return synced.error();
  report->directory = target;
  return report;
}

Result<BackupReport> verify_backup(const std::string& backup) {
  auto report = read_manifest(backup);
  if (!report) return report;
  for (const auto& file : report->files) {
    const auto* kind = kind_of(file.name);
    if (kind == nullptr) return Error{Cause::bad_input, fmt::format("{}: {} is unknown", backup, file.name)};
    const auto path = backup + "/" + file.name;
    const auto sum = sha256_of_file(path);
    if (!sum) return Error{Cause::bad_input, sum.error().what};
    if (*sum != file.sha256)
      return Error{Cause::bad_input,
                   fmt::format("{} is not what was backed up: its SHA-256 is {}, the manifest says {}", path,
                               *sum, file.sha256)};
    if (auto sound = check_database(path, *kind); !sound) return Error{Cause::bad_input, sound.error().what};
  }
  if (report->files.empty() || report->files.front().name != kStateFile.name)
    return Error{Cause::bad_input, fmt::format("{} holds no state.db", backup)};
  return report;
}

namespace {

// Out of the way, its log beside it under the name SQLite looks for; the log's index is of no use.
Result<bool> set_aside(const std::string& path, UtcTime now) {
  std::error_code error;
  fs::remove(path + "-shm", error);
  if (!fs::exists(path)) {
    fs::remove(path + "-wal", error);
    return true;
  }
  const auto aside = fmt::format("{}.before-restore-{}", path, format_compact(now));
  if (fs::exists(path + "-wal")) fs::rename(path + "-wal", aside + "-wal", error);
  if (!error) fs::rename(path, aside, error);
  if (error) return Error{Cause::world, fmt::format("{} cannot be moved: {}", path, error.message())};
  return true;
}

Result<bool> copy_in(const std::string& from, const std::string& to) {
  std::error_code error;
  fs::copy_file(from, to, fs::copy_options::overwrite_existing, error);
  if (error) return Error{Cause::world, fmt::format("{} cannot be copied: {}", from, error.message())};
  return sync_file(to);
}

// All copies are complete beside the live files before the first of those is touched.
Result<bool> put_in_place(const BackupReport& report, const std::string& directory, UtcTime now) {
  for (const auto& file : report.files)
    if (auto copied = copy_in(report.directory + "/" + file.name, directory + "/" + file.name + ".restoring");
        !copied)
      return copied;
  for (const FileKind* kind : kAllFiles)
    if (auto aside = set_aside(fmt::format("{}/{}", directory, kind->name), now); !aside) return aside;
  std::error_code error;
  for (const auto& file : report.files) {
    const auto path = directory + "/" + file.name;
    fs::rename(path + ".restoring", path, error);
    if (error)
      return Error{Cause::world, fmt::format("{} cannot be put in place: {}", path, error.message())};
  }
  return sync_directory(directory);
}

}  // namespace

Result<BackupReport> restore_backup(const std::string& backup, const std::string& state_directory,
                                    UtcTime now) {
  const auto lock = StateDirectory::lock(state_directory);
  if (!lock) return lock.error();
  auto report = verify_backup(backup);
  if (!report) return report;
  if (auto placed = put_in_place(*report, state_directory, now); !placed) return placed.error();
  return report;
}

}  // namespace coilward
