#include "plugins/common/secret_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace coilward_plugins {
namespace {

struct File {
  int fd;
  ~File() {
    if (fd >= 0) ::close(fd);
  }
};

std::string read_all(int fd) {
  std::string text(kLongestSecret + 1, '\0');
  std::size_t size = 0;
  while (size < text.size()) {
    const ssize_t got = ::read(fd, text.data() + size, text.size() - size);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) break;
    size += static_cast<std::size_t>(got);
  }
  text.resize(size);
  return text;
}

void replace_all(std::string& text, std::string_view what) {
  if (what.size() < 3) return;  // too short to be told from ordinary words
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 3))
    text.replace(at, what.size(), "***");
}

}  // namespace

Secret read_secret(const std::string& path) {
  const File file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK)};
  if (file.fd < 0) return {{}, "cannot read " + path + ": " + std::strerror(errno)};
  struct stat info {};
  if (::fstat(file.fd, &info) != 0 || !S_ISREG(info.st_mode)) return {{}, path + " is not a regular file"};
  if ((info.st_mode & (S_IROTH | S_IWOTH)) != 0)
    return {{}, path + " may be read by everybody; make it private: chmod 600 " + path};
  std::string value = read_all(file.fd);
  if (value.size() > kLongestSecret) return {{}, path + " is longer than a secret may be (4096 bytes)"};
  while (!value.empty() && (value.back() == '\n' || value.back() == '\r')) value.pop_back();
  if (value.empty()) return {{}, path + " is empty"};
  if (value.find_first_of(std::string_view("\r\n\0", 3)) != std::string::npos)
    return {{}, path + " holds more than one line"};
  return {std::move(value), {}};
}

std::string without_secret(std::string text, std::string_view secret) {
  replace_all(text, secret);
  replace_all(text, base64(secret));
  return text;
}

std::string base64(std::string_view bytes) {
  constexpr char kDigits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    unsigned group = 0;
    for (std::size_t k = 0; k < 3; ++k)
      group = group << 8 | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k)
      text += i + k > bytes.size() ? '=' : kDigits[group >> (18 - 6 * k) & 63];
  }
  return text;
}

}  // namespace coilward_plugins
