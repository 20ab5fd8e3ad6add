#include "daemon/mqtt/directory_lock.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

namespace coilward {

Result<DirectoryLock> DirectoryLock::take(const std::string& directory) {
  const std::string path = directory + "/lock";
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (file < 0)
    return Error{Cause::world, fmt::format("{}: cannot make lock file: {}", path, std::strerror(errno))};
  DirectoryLock lock(file);
  if (::flock(file, LOCK_EX | LOCK_NB) == 0) return lock;
  if (errno == EWOULDBLOCK) return Error{Cause::conflict, directory + ": in use by another process"};
  return Error{Cause::world, fmt::format("{}: cannot lock: {}", path, std::strerror(errno))};
}

DirectoryLock::DirectoryLock(DirectoryLock&& other) noexcept : file_(std::exchange(other.file_, -1)) {}

DirectoryLock& DirectoryLock::operator=(DirectoryLock&& other) noexcept {
  std::swap(file_, other.file_);
  return *this;
}

DirectoryLock::~DirectoryLock() {
  if (file_ >= 0) ::close(file_);
}

}  // namespace coilward
