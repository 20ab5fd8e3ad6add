#include "daemon/history/file_tools.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

namespace coilward {
namespace {

Result<bool> sync_path(const std::string& path, int flags) {
  const int fd = open(path.c_str(), flags | O_CLOEXEC);
  const bool synced = fd >= 0 && fsync(fd) == 0;
  const auto why = synced ? 0 : errno;
  if (fd >= 0) close(fd);
  if (!synced) return Error{Cause::world, fmt::format("{} cannot be synced: {}", path, std::strerror(why))};
  return true;
}

}  // namespace

Result<bool> sync_file(const std::string& path) { return sync_path(path, O_RDONLY); }
Result<bool> sync_directory(const std::string& path) { return sync_path(path, O_RDONLY | O_DIRECTORY); }

std::string parent_of(const std::string& path) {
  const auto parent = std::filesystem::path(path).parent_path().string();
  return parent.empty() ? "." : parent;
}

std::optional<FileIdentity> file_identity(const std::string& path) {
  struct stat found {};
  if (::stat(path.c_str(), &found) != 0) return std::nullopt;
  return FileIdentity{found.st_dev, found.st_ino};
}

Result<std::string> sha256_of_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return Error{Cause::world, fmt::format("{} cannot be read", path)};
  const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> sum(EVP_MD_CTX_new(), &EVP_MD_CTX_free);
  EVP_DigestInit_ex(sum.get(), EVP_sha256(), nullptr);
  std::array<char, 65536> block;
  while (in.read(block.data(), block.size()), in.gcount() > 0)
    EVP_DigestUpdate(sum.get(), block.data(), static_cast<std::size_t>(in.gcount()));
  if (in.bad()) return Error{Cause::world, fmt::format("{} cannot be read to its end", path)};
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest;
  unsigned size = 0;
  EVP_DigestFinal_ex(sum.get(), digest.data(), &size);
  return fmt::format("{:02x}", fmt::join(digest.begin(), digest.begin() + size, ""));
}

}  // namespace coilward
