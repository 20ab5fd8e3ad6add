#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "daemon/config/sections.h"

namespace coilward {
namespace {

// The tables that this role knows, and the word that says which role it is.
void check_tables(const toml::table& root, FileRole role, Complaints& complaints) {
  std::vector<std::string> known;
  for (const auto& spec : config_tables())
    if (spec.role == role || spec.role == FileRole::both) known.emplace_back(spec.name);
  for (const auto& [key, node] : root) {
    if (key.str() == "role") continue;
    if (std::find(known.begin(), known.end(), key.str()) != known.end()) continue;
    complaints.add(key.source().begin.line,
                   fmt::format("{}: unknown table or key; {}", key.str(), suggestion(key.str(), known)));
  }
}

Result<std::string> text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  if (!file || !(text << file.rdbuf()))
    return Error{Cause::bad_config, fmt::format("{}: cannot be read", path)};
  return text.str();
}

}  // namespace

Result<Config> parse_config(std::string_view text, const std::string& name) {
  Complaints complaints(name);
  Config config;
  config.file = name;
  try {
    const toml::table root = toml::parse(text, name);
    check_tables(root, FileRole::site, complaints);
    if (root.contains("role") && root["role"].value_or(std::string_view()) != "site")
      complaints.add(
          root.get("role")->source().begin.line,
          fmt::format("role: found {}; allowed are \"site\" and \"fleet\"", found_text(*root.get("role"))));
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

Result<FleetServerConfig> parse_fleet_server_config(std::string_view text, const std::string& name) {
  Complaints complaints(name);
  FleetServerConfig config;
  config.file = name;
  try {
    const toml::table root = toml::parse(text, name);
    check_tables(root, FileRole::fleet, complaints);
    read_fleet_server(root, config, complaints);
  } catch (const toml::parse_error& error) {
    complaints.add(error.source().begin.line, fmt::format("not TOML: {}", error.description()));
  }
  if (!complaints.empty()) return Error{Cause::bad_config, complaints.text()};
  return config;
}

Result<Config> load_config(const std::string& path) {
  const auto text = text_of(path);
  return text ? parse_config(*text, path) : Result<Config>(text.error());
}

Result<FleetServerConfig> load_fleet_server_config(const std::string& path) {
  const auto text = text_of(path);
  return text ? parse_fleet_server_config(*text, path) : Result<FleetServerConfig>(text.error());
}

bool is_fleet_server_config(const std::string& path) {
  const auto text = text_of(path);
  try {
    return text && toml::parse(*text, path)["role"].value_or(std::string_view()) == "fleet";
  } catch (const toml::parse_error&) {
    return false;  // a site's, whose reader says what is wrong
  }
}

}  // namespace coilward
