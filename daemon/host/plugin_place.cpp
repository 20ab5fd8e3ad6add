#include "daemon/host/plugin_place.h"

#include <fmt/format.h>

#include <filesystem>

namespace coilward {
namespace {

std::string as_file_name(std::string name) {
  for (char& c : name)
    if (c == '/' || c == '.' || static_cast<unsigned char>(c) <= ' ') c = '_';
  return name;
}

}  // namespace

std::string own_directory(const Config& config, const PluginUse& use) {
  std::error_code error;
  const auto state = std::filesystem::absolute(config.paths.state, error);
  return state / as_file_name(use.plugin) / as_file_name(use.name);
}

PluginPlace place_of(const Config& config, const PluginUse& use, const std::string& table) {
  return {config.file, use.line, fmt::format("[[{}]] {}", table, use.name), own_directory(config, use)};
}

}  // namespace coilward
