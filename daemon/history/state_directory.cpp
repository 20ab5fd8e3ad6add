#include "daemon/history/state_directory.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstring>
#include <filesystem>
#include <utility>

namespace coilward {
namespace {

std::string holder_of(int fd) {
  char text[32] = {};
  const auto size = pread(fd, text, sizeof text - 1, 0);
  const std::string pid(text, size > 0 ? static_cast<std::size_t>(size) : 0);
  return pid.empty() ? "another process" : "process " + pid.substr(0, pid.find('\n'));
}

void write_holder(int fd) {
  const auto text = fmt::format("{}\n", getpid());
  if (ftruncate(fd, 0) == 0) (void)!pwrite(fd, text.data(), text.size(), 0);
}

Error cannot(const char* what, const std::string& directory) {
  return {Cause::world,
          fmt::format("state directory {}: cannot {}: {}", directory, what, std::strerror(errno))};
}

}  // namespace

Result<StateDirectory> StateDirectory::lock(const std::string& directory) {
  std::error_code error;
  if (!std::filesystem::exists(directory, error)) {
    std::filesystem::create_directories(std::filesystem::path(directory).parent_path(), error);
    if (mkdir(directory.c_str(), 0750) != 0 && errno != EEXIST) return cannot("make it", directory);
  }
  const int fd = open((directory + "/lock").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (fd < 0) return cannot("write there", directory);
  if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
    const auto holder = holder_of(fd);
    close(fd);
    return Error{Cause::conflict, fmt::format("state directory {} is in use by {}", directory, holder)};
  }
  write_holder(fd);
  return StateDirectory(directory, fd);
}

StateDirectory::StateDirectory(StateDirectory&& other) noexcept
    : path_(std::move(other.path_)), fd_(std::exchange(other.fd_, -1)) {}

StateDirectory& StateDirectory::operator=(StateDirectory&& other) noexcept {
  std::swap(path_, other.path_);
  std::swap(fd_, other.fd_);
  return *this;
}

StateDirectory::~StateDirectory() {
  if (fd_ >= 0) close(fd_);
}

}  // namespace coilward
