// One process at a time in a directory: a lock that the kernel gives up when the process ends, however it
// ends.
#pragma once

#include <string>

#include "daemon/base/result.h"

namespace coilward {

// Thread: none of its own. Held as long as the object lives.
class DirectoryLock {
 public:
  // conflict: another process (or another object) holds it; world: the file cannot be made.
  static Result<DirectoryLock> take(const std::string& directory);
  DirectoryLock(DirectoryLock&& other) noexcept;
  DirectoryLock& operator=(DirectoryLock&& other) noexcept;
  ~DirectoryLock();

 private:
  explicit DirectoryLock(int file) : file_(file) {}
  int file_;
};

}  // namespace coilward
