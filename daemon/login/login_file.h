// The file of who may come in: STATE/people.json, for its owner alone (0600). It is in no backup. Thread:
// any.
#pragma once

#include <optional>
#include <string>

#include "daemon/base/result.h"

namespace coilward {

inline std::string people_path(const std::string& state_directory) {
  return state_directory + "/people.json";
}

// nullopt: there is none. world: there is one, and it cannot be read.
Result<std::optional<std::string>> read_private_file(const std::string& path);
// Whole or not at all, whenever the power is cut; on the disk when it returns. Written by root, it belongs to
// whom its directory belongs: the daemon's user. world.
Result<bool> write_private_file(const std::string& path, const std::string& text);

}  // namespace coilward
