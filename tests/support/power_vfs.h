// SQLite on a disk whose power can be cut: every write, truncation, deletion and sync of a database's files
// is noted in order, so that the disk can be made again as it may have been at any moment. And a disk that is
// full or fails.
//
// What a disk may have after a cut: of each file everything before its last sync, and of what was written
// since any part, in sectors of 512 bytes, in any order; a file that was never synced may be missing.
#pragma once

#include <cstdint>
#include <map>
#include <random>
#include <string>
#include <vector>

namespace coilward {

struct DiskStep {
  enum class Kind : std::uint8_t { write, truncate, remove, sync };
  Kind kind = Kind::write;
  std::string file;
  std::uint64_t offset = 0;  // of a write; the new size of a truncation
  std::string bytes;
};

enum class DiskFault : std::uint8_t { none, full, error };

// Becomes the process's default VFS while it lives; one at a time. Files opened before it are not seen.
// Thread: any, but connections must be closed before it ends.
class PowerVfs {
 public:
  PowerVfs();
  ~PowerVfs();
  PowerVfs(const PowerVfs&) = delete;
  PowerVfs& operator=(const PowerVfs&) = delete;

  // Steps so far; those before an index never change.
  std::size_t steps() const;
  std::vector<DiskStep> log() const;
  // From the nth write or sync from now on, all of them fail so; none: no more.
  void fail(DiskFault fault, std::uint64_t from_nth = 0);
  std::uint64_t syncs() const;
  std::uint64_t bytes_written() const;
};

// What becomes of what was not synced.
enum class Unsynced : std::uint8_t { lost, kept, torn };

// The disk as steps go by.
class DiskImage {
 public:
  void apply(const DiskStep& step);
  // Writes the files of the moment into a directory, under their own names.
  void write_to(const std::string& directory, Unsynced unsynced, std::mt19937& random) const;

 private:
  struct File {
    bool exists = false;          // after a cut, surely
    std::string synced;           // surely there
    std::vector<DiskStep> since;  // may be there
  };
  std::map<std::string, File> files_;
};

}  // namespace coilward
