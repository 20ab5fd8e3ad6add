// Configuration of the contractor's server: the same program with role = "fleet" in its file.
#pragma once

#include "daemon/config/config.h"

namespace coilward {

struct FleetServerConfig {
  std::string file;
  MqttConfig mqtt;            // the sites' broker; MQTT 5
  std::string database;       // libpq's connection string, without a password
  std::string password_file;  // empty: none
  double silent_h = 26;       // a day, and a little for what comes in batches
  HttpConfig http;
};

// Whether the file says role = "fleet". Thread: any.
bool is_fleet_server_config(const std::string& path);
// As load_config and parse_config.
Result<FleetServerConfig> load_fleet_server_config(const std::string& path);
Result<FleetServerConfig> parse_fleet_server_config(std::string_view text, const std::string& name);

}  // namespace coilward
