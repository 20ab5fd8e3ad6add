// The command line of coilwardd: CONFIG [--state DIR] [--run DIR] [--check-config] [--log-format FORMAT]
// [--log-level LEVEL]. The program and its manual page read the same table.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace coilward {

struct DaemonOptions {
  std::string config, state, run, log_format, log_level = "info";
  bool check = false;
};

inline constexpr const char* kDaemonHelp =
    "Watches the wires of one irrigation site over MQTT and says what failed, where, and what to measure "
    "next.";

inline void add_daemon_options(CLI::App& app, DaemonOptions& options, const std::string& version) {
  app.add_option("CONFIG", options.config, "the site's configuration (TOML)")->required()->type_name("FILE");
  app.add_option("--state", options.state, "directory of what is kept")->type_name("DIR");
  app.add_option("--run", options.run, "directory of spool and socket, on tmpfs")->type_name("DIR");
  app.add_flag("--check-config", options.check, "check the configuration and leave");
  app.add_option("--log-format", options.log_format, "text, journal or json")
      ->check(CLI::IsMember({"text", "journal", "json"}));
  app.add_option("--log-level", options.log_level, "debug, info, warning or error")
      ->check(CLI::IsMember({"debug", "info", "warning", "error"}));
  app.set_version_flag("--version", version);
}

}  // namespace coilward
