// Each table of the file into its part of Config. All complain rather than throw; what is wrong keeps its
// default.
#pragma once

#include <toml++/toml.h>

#include "daemon/config/config.h"
#include "daemon/config/fleet_server.h"
#include "daemon/config/table_reader.h"

namespace coilward {

void read_site(const toml::table& root, Config& config, Complaints& complaints);
void read_mqtt(const toml::table& root, Config& config, Complaints& complaints);
void read_supply(const toml::table& root, Config& config, Complaints& complaints);
void read_commons(const toml::table& root, Config& config, Complaints& complaints);
void read_boxes(const toml::table& root, Config& config, Complaints& complaints);
void read_visit(const toml::table& root, Config& config, Complaints& complaints);
void read_zones(const toml::table& root, Config& config, Complaints& complaints);  // after commons and boxes
void read_sensors(const toml::table& root, Config& config, Complaints& complaints);
void read_plugins(const toml::table& root, Config& config,
                  Complaints& complaints);  // notifiers, exporters, decoders
void read_people(const toml::table& root, Config& config,
                 Complaints& complaints);  // after zones and notifiers
void read_service(const toml::table& root, Config& config,
                  Complaints& complaints);  // alerts, forecast, history, paths, http, test_run

void read_broker(const TableReader& in, MqttConfig& mqtt);  // what every broker is reached by
void read_fleet_server(const toml::table& root, FleetServerConfig& config, Complaints& complaints);

// Calls `read(reader)` for each table of the array `name`; complains when it is not an array of tables.
template <class Read>
void each(const toml::table& root, const char* name, Complaints& complaints, Read read) {
  const toml::node* node = root.get(name);
  if (!node) return;
  const toml::array* array = node->as_array();
  if (!array || !array->is_homogeneous<toml::table>()) {
    complaints.add(node->source().begin.line, std::string(name) + ": found " + found_text(*node) +
                                                  "; allowed is [[" + name + "]], once for each");
    return;
  }
  for (const auto& item : *array) read(TableReader(*item.as_table(), name, complaints));
}

// Calls `read(reader)` when the table is there.
template <class Read>
void one(const toml::table& root, const char* name, Complaints& complaints, Read read) {
  const toml::node* node = root.get(name);
  if (!node) return;
  if (!node->is_table())
    complaints.add(node->source().begin.line, std::string(name) + ": found " + found_text(*node) +
                                                  "; allowed is a table [" + name + "]");
  else
    read(TableReader(*node->as_table(), name, complaints));
}

}  // namespace coilward
