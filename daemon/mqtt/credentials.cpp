#include "daemon/mqtt/credentials.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>

namespace coilward {
namespace {

Error bad_file(const std::string& path, std::string_view why) {
  return {Cause::bad_config, fmt::format("{}: {}", path, why)};
}

Result<bool> check_private(const std::string& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0) return bad_file(path, std::strerror(errno));
  if ((about.st_mode & S_IROTH) != 0) {
    return bad_file(path, "every user of this machine can read it; take that away with: chmod o-r");
  }
  return true;
}

Result<bool> check_readable(const std::string& path) {
  if (path.empty() || std::ifstream(path).good()) return true;
  return bad_file(path, std::strerror(errno));
}

}  // namespace

Result<std::string> read_secret(const std::string& path) {
  if (auto is_private = check_private(path); !is_private) return is_private.error();
  std::ifstream in(path, std::ios::binary);
  if (!in) return bad_file(path, std::strerror(errno));
  std::string secret{std::istreambuf_iterator<char>(in), {}};
  while (secret.ends_with('\n') || secret.ends_with('\r')) secret.pop_back();
  if (secret.empty()) return bad_file(path, "is empty");
  return secret;
}

Result<bool> check_tls_files(const MqttConfig& config) {
  for (const std::string& path : {config.ca_file, config.cert_file, config.key_file}) {
    if (auto readable = check_readable(path); !readable) return readable;
  }
  if (!config.key_file.empty()) return check_private(config.key_file);
  return true;
}

}  // namespace coilward
