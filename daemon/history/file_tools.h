// Files as wholes: synced, summed. Inside this folder only.
#pragma once

#include <string>

#include "daemon/base/result.h"

namespace coilward {

Result<bool> sync_file(const std::string& path);
// So that a rename in it survives a power cut.
Result<bool> sync_directory(const std::string& path);
std::string parent_of(const std::string& path);

// Lower-case hex, as sha256sum prints it.
Result<std::string> sha256_of_file(const std::string& path);

}  // namespace coilward
