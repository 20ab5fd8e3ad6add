// coilwardd: the daemon. Its command line is in daemon_options.h.
#include <malloc.h>
#include <unistd.h>

#include <cerrno>
#include <CLI/CLI.hpp>
#include <csignal>
#include <cstring>
#include <iostream>

#include "daemon/base/log.h"
#include "daemon/config/config.h"
#include "daemon/crash_words.h"
#include "daemon/daemon.h"
#include "daemon/daemon_options.h"
#include "daemon/fleet/server/fleet_daemon.h"
#include "daemon/stop_signals.h"

namespace {

constexpr int kFailed = 1, kWrongUsage = 2, kWrongConfig = 78;  // EX_CONFIG of sysexits.h

using Options = coilward::DaemonOptions;

int exit_status(const coilward::Error& error) {
  return error.cause == coilward::Cause::bad_config ? kWrongConfig : kFailed;
}

coilward::log::Format format_of(const std::string& name) {
  if (name == "json") return coilward::log::Format::json;
  if (name == "journal") return coilward::log::Format::journal;
  return name == "text" ? coilward::log::Format::text : coilward::log::format_from_environment();
}

// A look-up that cannot be ended (facts F10) is left behind by leaving the process: all is committed.
[[noreturn]] void leave(coilward::DaemonEnd end, char** argv) {
  if (end == coilward::DaemonEnd::reload) {
    ::execv("/proc/self/exe", argv);  // signals stay held until the new one listens
    coilward::log::error("cannot start again: {}", std::strerror(errno));
    ::_exit(kFailed);
  }
  ::_exit(0);
}

// Runs, and runs again with a new configuration, until told to stop.
int serve(const Options& options, coilward::Config config, char** argv) {
  coilward::hold_stop_signals();
  for (;;) {
    if (!options.state.empty()) config.paths.state = options.state;
    if (!options.run.empty()) config.paths.run = options.run;
    auto daemon = coilward::Daemon::make(std::move(config), COILWARD_VERSION);
    if (!daemon) {
      coilward::log::error("{}", daemon.error().what);
      return exit_status(daemon.error());
    }
    const auto end = (*daemon)->run();
    if (!end) {
      coilward::log::error("{}", end.error().what);
      return exit_status(end.error());
    }
    if ((*daemon)->left_threads_behind()) leave(*end, argv);
    if (*end == coilward::DaemonEnd::stop) return 0;
    config = (*daemon)->next_config();
  }
}

int serve_fleet(const coilward::FleetServerConfig& config) {
  auto daemon = coilward::FleetDaemon::make(config, COILWARD_VERSION);
  const auto ran = daemon ? (*daemon)->run() : coilward::Result<bool>(daemon.error());
  if (!ran) {
    coilward::log::error("{}", ran.error().what);
    return exit_status(ran.error());
  }
  if ((*daemon)->left_threads_behind()) ::_exit(0);
  return 0;
}

// A configuration that is wrong starts nothing; one that is only to be checked, neither.
template <class Config, class Serve>
int start(const Options& options, coilward::Result<Config> config, Serve serve_it) {
  if (!config) {
    std::cerr << config.error().what << "\n";
    return kWrongConfig;
  }
  if (!options.check) return serve_it(std::move(*config));
  std::cout << options.config << ": good\n";
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  Options options;
  CLI::App app{coilward::kDaemonHelp};
  coilward::add_daemon_options(app, options, COILWARD_VERSION);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : kWrongUsage;
  }
  using coilward::log::Level;
  const Level level = options.log_level == "debug"     ? Level::debug
                      : options.log_level == "warning" ? Level::warning
                      : options.log_level == "error"   ? Level::error
                                                       : Level::info;
  coilward::log::set_up(level, format_of(options.log_format));
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may not grow is a full disk, which is told
  coilward::say_who_crashed();
  // Each thread's own arena would keep what its largest batch once took; few threads contend here.
  ::mallopt(M_ARENA_MAX, 1);
  // The role is chosen here: one site, or the contractor's server for all of them.
  return coilward::is_fleet_server_config(options.config)
             ? start(options, coilward::load_fleet_server_config(options.config),
                     [](auto config) { return serve_fleet(config); })
             : start(options, coilward::load_config(options.config),
                     [&](auto config) { return serve(options, std::move(config), argv); });
}
