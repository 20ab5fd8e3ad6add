#include "daemon/login/login_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <sstream>

#include "daemon/history/file_tools.h"

namespace coilward {
namespace {

Error failed(const std::string& path, const char* what) {
  return {Cause::world, fmt::format("{} cannot be {}: {}", path, what, std::strerror(errno))};
}

bool write_all(int fd, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(fd, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

bool give_to_owner_of(const std::string& directory, int fd) {
  struct stat owner = {};
  return ::geteuid() != 0 ||
         (::stat(directory.c_str(), &owner) == 0 && ::fchown(fd, owner.st_uid, owner.st_gid) == 0);
}

}  // namespace

Result<std::optional<std::string>> read_private_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in && errno == ENOENT) return std::optional<std::string>();
  std::ostringstream text;
  if (in) text << in.rdbuf();
  if (!in || in.bad()) return failed(path, "read");
  return std::optional<std::string>(text.str());
}

Result<bool> write_private_file(const std::string& path, const std::string& text) {
  const std::string fresh = path + ".new";
  ::unlink(fresh.c_str());  // what a kill left, whatever its mode
  const int fd = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
  if (fd < 0) return failed(fresh, "made");
  const bool written = give_to_owner_of(parent_of(path), fd) && write_all(fd, text) && ::fsync(fd) == 0;
  const int why = errno;
  ::close(fd);
  errno = why;
  if (!written) return failed(fresh, "written");
  if (::rename(fresh.c_str(), path.c_str()) != 0) return failed(path, "put in place");
  return sync_directory(parent_of(path));
}

}  // namespace coilward
