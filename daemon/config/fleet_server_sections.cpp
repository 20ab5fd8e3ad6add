// The tables of a file with role = "fleet".
#include "daemon/config/sections.h"

namespace coilward {

void read_fleet_server(const toml::table& root, FleetServerConfig& config, Complaints& complaints) {
  config.mqtt.version = 5;  // for subscriptions that workers share
  one(root, "mqtt", complaints, [&](const TableReader& in) {
    read_broker(in, config.mqtt);
    config.mqtt.client_id = in.text("client_id");
  });
  if (!root.contains("database"))
    complaints.add(1, "database: missing; needed: a table [database] with its url");
  one(root, "database", complaints, [&](const TableReader& in) {
    config.database = in.text("url");
    config.password_file = in.text("password_file");
  });
  one(root, "ranking", complaints,
      [&](const TableReader& in) { config.silent_h = in.number("silent_h", config.silent_h); });
  one(root, "http", complaints, [&](const TableReader& in) {
    config.http.port = in.integer("port", 0);
    config.http.metrics = in.boolean("metrics", true);
    for (const char* key : {"address", "certificate", "key", "behind_proxy"})
      if (in.has(key))
        in.complain(key,
                    "is for a site; the page of all sites is for this machine alone, from elsewhere through a tunnel");
  });
}

}  // namespace coilward
