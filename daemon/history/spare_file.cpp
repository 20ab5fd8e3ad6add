#include "daemon/history/spare_file.h"

#include <fcntl.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <filesystem>

namespace coilward {

SpareFile::SpareFile(std::string directory, std::uint64_t bytes)
    : directory_(std::move(directory)), path_(directory_ + "/spare"), bytes_(bytes) {
  fill();
}

void SpareFile::fill() {
  std::error_code error;
  if (bytes_ == 0 || (!given_ && std::filesystem::file_size(path_, error) == bytes_)) return;
  if (free_bytes() < 4 * bytes_) return;
  const int fd = open(path_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (fd < 0) return;
  const bool filled = posix_fallocate(fd, 0, static_cast<off_t>(bytes_)) == 0;
  close(fd);
  if (filled)
    given_ = false;
  else
    unlink(path_.c_str());
}

bool SpareFile::give() {
  if (bytes_ == 0 || unlink(path_.c_str()) != 0) return false;
  given_ = true;
  return true;
}

bool SpareFile::roomy() const { return !given_ || free_bytes() > 2 * bytes_; }

std::uint64_t SpareFile::free_bytes() const {
  struct statvfs info {};
  if (statvfs(directory_.c_str(), &info) != 0) return 0;
  return static_cast<std::uint64_t>(info.f_bavail) * info.f_frsize;
}

}  // namespace coilward
