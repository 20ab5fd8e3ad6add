#include "plugins/exporters/csv/csv_disk.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string_view>

namespace coilward_plugins {
namespace {

struct File {
  int fd;
  ~File() {
    if (fd >= 0) ::close(fd);
  }
};

std::string failed(const char* doing, const std::string& path) {
  return std::string(doing) + " " + path + ": " + std::strerror(errno);
}

bool write_all(int fd, std::string_view text) {
  while (!text.empty()) {
    const ssize_t done = ::write(fd, text.data(), text.size());
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(done));
  }
  return true;
}

std::string sync_directory(const std::string& directory) {
  const File file{::open(directory.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
  return file.fd < 0 || ::fsync(file.fd) != 0 ? failed("cannot sync", directory) : std::string();
}

}  // namespace

std::string append(const std::string& path, const std::string& header, const std::string& text, bool sync) {
  const File file{::open(path.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0640)};
  if (file.fd < 0) return failed("cannot open", path);
  const bool fresh = ::lseek(file.fd, 0, SEEK_END) == 0;
  if (fresh && !write_all(file.fd, header)) return failed("cannot write", path);
  if (!write_all(file.fd, text)) return failed("cannot write", path);
  if (sync && ::fsync(file.fd) != 0) return failed("cannot sync", path);
  return {};
}

std::int64_t file_size(const std::string& path) {
  struct stat info {};
  return ::stat(path.c_str(), &info) == 0 ? static_cast<std::int64_t>(info.st_size) : 0;
}

std::string cut(const std::string& path, std::int64_t size) {
  if (::truncate(path.c_str(), size) == 0 || errno == ENOENT) return {};
  return failed("cannot shorten", path);
}

std::string replace(const std::string& directory, const std::string& name, const std::string& text,
                    bool sync) {
  const std::string target = directory + "/" + name, fresh = target + ".new";
  {
    const File file{::open(fresh.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0640)};
    if (file.fd < 0) return failed("cannot open", fresh);
    if (!write_all(file.fd, text)) return failed("cannot write", fresh);
    if (sync && ::fsync(file.fd) != 0) return failed("cannot sync", fresh);
  }
  if (::rename(fresh.c_str(), target.c_str()) != 0) return failed("cannot replace", target);
  return sync ? sync_directory(directory) : std::string();
}

std::string read(const std::string& path, std::string& text, bool& found) {
  const File file{::open(path.c_str(), O_RDONLY | O_CLOEXEC)};
  found = file.fd >= 0;
  if (!found) return errno == ENOENT ? std::string() : failed("cannot read", path);
  char buffer[8192];
  text.clear();
  for (;;) {
    const ssize_t got = ::read(file.fd, buffer, sizeof buffer);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return failed("cannot read", path);
    if (got == 0) return {};
    text.append(buffer, static_cast<std::size_t>(got));
  }
}

}  // namespace coilward_plugins
