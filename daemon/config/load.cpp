#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "daemon/config/sections.h"

namespace coilward {
namespace {

void check_tables(const toml::table& root, Complaints& complaints) {
  std::vector<std::string> known;
  for (const auto& spec : config_tables()) known.emplace_back(spec.name);
  for (const auto& [key, node] : root) {
    if (std::find(known.begin(), known.end(), key.str()) != known.end()) continue;
    complaints.add(key.source().begin.line,
                   fmt::format("{}: unknown table or key; {}", key.str(), suggestion(key.str(), known)));
  }
}

}  // namespace

Result<Config> parse_config(std::string_view text, const std::string& name) {
  Complaints complaints(name);
  Config config;
  config.file = name;
  try {
    const toml::table root = toml::parse(text, name);
    check_tables(root, complaints);
    read_site(root, config, complaints);
    read_mqtt(root, config, complaints);
    read_supply(root, config, complaints);
    read_commons(root, config, complaints);
    read_boxes(root, config, complaints);
    read_zones(root, config, complaints);
    read_visit(root, config, complaints);
    read_sensors(root, config, complaints);
    read_plugins(root, config, complaints);
    read_people(root, config, complaints);
    read_service(root, config, complaints);
  } catch (const toml::parse_error& error) {
    complaints.add(error.source().begin.line, fmt::format("not TOML: {}", error.description()));
  }
  if (!complaints.empty()) return Error{Cause::bad_config, complaints.text()};
  return config;
}

Result<Config> load_config(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  if (!file || !(text << file.rdbuf()))
    return Error{Cause::bad_config, fmt::format("{}: cannot be read", path)};
  return parse_config(text.str(), path);
}

}  // namespace coilward
