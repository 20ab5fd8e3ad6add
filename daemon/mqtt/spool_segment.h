// One file of the spool. Records in it have sequence numbers without gaps.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: none of its own; Spool's lock guards it.
class SpoolSegment {
 public:
  // A new, empty file. world: it cannot be made.
  static Result<std::shared_ptr<SpoolSegment>> create(const std::string& directory,
                                                      std::uint64_t first_sequence);
  // A file of an earlier process: what follows the last whole record is cut off. bad_input: not a spool
  // file's name; world: it cannot be read.
  static Result<std::shared_ptr<SpoolSegment>> recover(const std::string& path);
  ~SpoolSegment();
  SpoolSegment(const SpoolSegment&) = delete;
  SpoolSegment& operator=(const SpoolSegment&) = delete;

  // False when the file system would not take it; the file is then as before.
  bool append(const Message& message, std::uint64_t sequence) noexcept;

  // Reads at most `size` bytes from `offset`, never beyond the last whole record. Returns the number read.
  std::size_t read_at(std::uint64_t offset, char* to, std::size_t size) const;

  void remove() noexcept;  // from the directory; it can still be read

  std::uint64_t first() const { return first_; }
  std::uint64_t next() const { return next_; }  // the sequence number after the last record's
  std::uint64_t size() const { return size_; }
  std::uint64_t damaged() const { return damaged_; }  // bytes cut off by recover
  bool empty() const { return next_ == first_; }

 private:
  SpoolSegment(std::string path, int file, std::uint64_t first)
      : path_(std::move(path)), file_(file), first_(first), next_(first) {}
  bool scan();

  std::string path_;
  int file_;
  std::uint64_t first_;
  std::uint64_t next_;
  std::uint64_t size_ = 0;
  std::uint64_t damaged_ = 0;
};

}  // namespace coilward
