// Files as wholes: synced, summed, told apart. Inside this folder and by readers that outlive a repair.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/base/result.h"

namespace coilward {

Result<bool> sync_file(const std::string& path);
// So that a rename in it survives a power cut.
Result<bool> sync_directory(const std::string& path);
std::string parent_of(const std::string& path);

// Which file the name stands for: another once a damaged one was moved aside. nullopt: there is none.
struct FileIdentity {
  std::uint64_t device = 0, inode = 0;
  bool operator==(const FileIdentity&) const = default;
};
std::optional<FileIdentity> file_identity(const std::string& path);

// Lower-case hex, as sha256sum prints it.
Result<std::string> sha256_of_file(const std::string& path);

}  // namespace coilward
