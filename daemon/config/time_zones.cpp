#include "daemon/config/time_zones.h"

#include <cctype>
#include <filesystem>
#include <fstream>
#include <vector>

#include "daemon/config/keys.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
constexpr const char* kDatabase = "/usr/share/zoneinfo";

// Lists and rules lie beside the zones; a zone's file starts with this (RFC 8536).
bool is_zone_file(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  char magic[4] = {};
  return file.read(magic, 4) && std::string_view(magic, 4) == "TZif";
}

std::vector<std::string> all_zones() {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::recursive_directory_iterator it(kDatabase, error), end; !error && it != end; it.increment(error)) {
    const std::string name = it->path().lexically_relative(kDatabase).string();
    if (std::isupper(static_cast<unsigned char>(name[0])) && it->is_regular_file(error))
      names.push_back(name);
  }
  return names;
}

}  // namespace

bool is_time_zone(const std::string& name) {
  if (name == "UTC") return true;
  if (name.empty() || name.front() == '/' || name.find("..") != std::string::npos) return false;
  std::error_code error;
  const fs::path path = fs::path(kDatabase) / name;
  return fs::is_regular_file(path, error) && is_zone_file(path);
}

std::string time_zone_hint(const std::string& wrong) {
  const std::string near = nearest(wrong, all_zones());
  return near.empty() ? "such as America/Boise or Europe/Berlin" : "did you mean '" + near + "'?";
}

}  // namespace coilward
