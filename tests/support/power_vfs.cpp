#include "tests/support/power_vfs.h"

#include <sqlite3.h>

#include <cstring>
#include <mutex>
#include <new>
#include <stdexcept>
#include <utility>

namespace coilward {
namespace {

struct Notes {
  std::mutex mutex;
  std::vector<DiskStep> log;
  DiskFault fault = DiskFault::none;
  std::uint64_t until_fault = 0, syncs = 0, bytes = 0;
};
Notes* notes = nullptr;
sqlite3_vfs* beneath = nullptr;

// What SQLite is to be told in place of doing it; SQLITE_OK: do it.
int refusal(int when_full) {
  std::lock_guard lock(notes->mutex);
  if (notes->fault == DiskFault::none) return SQLITE_OK;
  if (notes->until_fault > 0) return --notes->until_fault, SQLITE_OK;
  return notes->fault == DiskFault::full ? SQLITE_FULL : when_full;
}

void note(DiskStep step) {
  std::lock_guard lock(notes->mutex);
  if (step.kind == DiskStep::Kind::sync) ++notes->syncs;
  notes->bytes += step.bytes.size();
  notes->log.push_back(std::move(step));
}

// SQLite reserves szOsFile bytes: this, then the file of the VFS beneath.
struct NotedFile {
  sqlite3_file base;
  const char* name;  // SQLite's; good while the file is open
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

NotedFile* noted(sqlite3_file* file) { return reinterpret_cast<NotedFile*>(file); }
sqlite3_file* real(sqlite3_file* file) { return noted(file)->real(); }
std::string name_of(sqlite3_file* file) { return noted(file)->name ? noted(file)->name : ""; }

int close_file(sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); }
int read_file(sqlite3_file* f, void* to, int size, sqlite3_int64 at) {
  return real(f)->pMethods->xRead(real(f), to, size, at);
}
int write_file(sqlite3_file* f, const void* from, int size, sqlite3_int64 at) {
  if (const int refused = refusal(SQLITE_IOERR_WRITE)) return refused;
  const int done = real(f)->pMethods->xWrite(real(f), from, size, at);
  if (done == SQLITE_OK)
    note({DiskStep::Kind::write, name_of(f), static_cast<std::uint64_t>(at),
          std::string(static_cast<const char*>(from), static_cast<std::size_t>(size))});
  return done;
}
int truncate_file(sqlite3_file* f, sqlite3_int64 size) {
  const int done = real(f)->pMethods->xTruncate(real(f), size);
  if (done == SQLITE_OK) note({DiskStep::Kind::truncate, name_of(f), static_cast<std::uint64_t>(size), {}});
  return done;
}
// Not really: that takes time, and the power is only cut on paper.
int sync_file(sqlite3_file* f, int) {
  if (const int refused = refusal(SQLITE_IOERR_FSYNC)) return refused;
  note({DiskStep::Kind::sync, name_of(f), 0, {}});
  return SQLITE_OK;
}
int file_size(sqlite3_file* f, sqlite3_int64* size) { return real(f)->pMethods->xFileSize(real(f), size); }
int lock_file(sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); }
int unlock_file(sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); }
int check_lock(sqlite3_file* f, int* held) { return real(f)->pMethods->xCheckReservedLock(real(f), held); }
int control(sqlite3_file* f, int what, void* with) {
  return real(f)->pMethods->xFileControl(real(f), what, with);
}
int sector_size(sqlite3_file*) { return 512; }
int characteristics(sqlite3_file* f) { return real(f)->pMethods->xDeviceCharacteristics(real(f)); }
int map_shared(sqlite3_file* f, int page, int size, int extend, void volatile** to) {
  return real(f)->pMethods->xShmMap(real(f), page, size, extend, to);
}
int lock_shared(sqlite3_file* f, int offset, int n, int flags) {
  return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
}
void barrier(sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); }
int unmap_shared(sqlite3_file* f, int remove) { return real(f)->pMethods->xShmUnmap(real(f), remove); }

// Version 2: with shared memory for the log's index, without mapping the database itself.
constexpr sqlite3_io_methods kMethods = {2,         close_file,   read_file,       write_file,  truncate_file,
                                         sync_file, file_size,    lock_file,       unlock_file, check_lock,
                                         control,   sector_size,  characteristics, map_shared,  lock_shared,
                                         barrier,   unmap_shared, nullptr,         nullptr};

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  NotedFile* made = new (file) NotedFile{};
  made->name = name;
  const int done = beneath->xOpen(beneath, name, made->real(), flags, out);
  // Temporary files without a name are nobody's after a cut.
  if (done == SQLITE_OK) made->base.pMethods = &kMethods;
  return done;
}

int remove_file(sqlite3_vfs*, const char* name, int sync_directory) {
  const int done = beneath->xDelete(beneath, name, sync_directory);
  if (done == SQLITE_OK) note({DiskStep::Kind::remove, name, static_cast<std::uint64_t>(sync_directory), {}});
  return done;
}

sqlite3_vfs vfs;

// Applies a write or a truncation to a file's content.
void change(std::string& content, const DiskStep& step) {
  if (step.kind == DiskStep::Kind::truncate) return content.resize(step.offset);
  if (content.size() < step.offset + step.bytes.size()) content.resize(step.offset + step.bytes.size());
  content.replace(step.offset, step.bytes.size(), step.bytes);
}

// Each sector of a write is there or not.
void change_in_part(std::string& content, const DiskStep& step, std::mt19937& random) {
  constexpr std::size_t kSector = 512;
  if (step.kind == DiskStep::Kind::truncate) {
    if (random() % 2) change(content, step);
    return;
  }
  for (std::size_t at = 0; at < step.bytes.size(); at += kSector)
    if (random() % 2)
      change(content, {step.kind, step.file, step.offset + at, step.bytes.substr(at, kSector)});
}

}  // namespace

PowerVfs::PowerVfs() {
  if (notes) throw std::logic_error("there is one PowerVfs already");
  sqlite3_initialize();
  notes = new Notes;
  beneath = sqlite3_vfs_find("unix");
  vfs = *beneath;
  vfs.zName = "power";
  vfs.pNext = nullptr;
  vfs.szOsFile = static_cast<int>(sizeof(NotedFile)) + beneath->szOsFile;
  vfs.xOpen = open_file;
  vfs.xDelete = remove_file;
  sqlite3_vfs_register(&vfs, 1);
}

PowerVfs::~PowerVfs() {
  sqlite3_vfs_register(beneath, 1);
  sqlite3_vfs_unregister(&vfs);
  delete std::exchange(notes, nullptr);
}

std::size_t PowerVfs::steps() const {
  std::lock_guard lock(notes->mutex);
  return notes->log.size();
}
std::vector<DiskStep> PowerVfs::log() const {
  std::lock_guard lock(notes->mutex);
  return notes->log;
}
void PowerVfs::fail(DiskFault fault, std::uint64_t from_nth) {
  std::lock_guard lock(notes->mutex);
  notes->fault = fault;
  notes->until_fault = from_nth;
}
std::uint64_t PowerVfs::syncs() const {
  std::lock_guard lock(notes->mutex);
  return notes->syncs;
}
std::uint64_t PowerVfs::bytes_written() const {
  std::lock_guard lock(notes->mutex);
  return notes->bytes;
}

void DiskImage::apply(const DiskStep& step) {
  File& file = files_[step.file];
  if (step.kind == DiskStep::Kind::remove) {
    files_.erase(step.file);
  } else if (step.kind == DiskStep::Kind::sync) {
    for (const DiskStep& made : file.since) change(file.synced, made);
    file.since.clear();
    file.exists = true;
  } else {
    file.since.push_back(step);
  }
}

void DiskImage::write_to(const std::string& directory, Unsynced unsynced, std::mt19937& random) const {
  for (const auto& [path, file] : files_) {
    if (!file.exists && (unsynced == Unsynced::lost || (unsynced == Unsynced::torn && random() % 4 == 0)))
      continue;
    std::string content = file.synced;
    if (unsynced != Unsynced::lost)
      for (const DiskStep& step : file.since)
        unsynced == Unsynced::kept ? change(content, step) : change_in_part(content, step, random);
    FILE* out = std::fopen((directory + path.substr(path.rfind('/'))).c_str(), "wb");
    if (!out || std::fwrite(content.data(), 1, content.size(), out) != content.size())
      throw std::runtime_error(path);
    std::fclose(out);
  }
}

}  // namespace coilward
