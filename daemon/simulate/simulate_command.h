// What `coilward simulate` does: a simulated site to a recording file or, live, to a broker.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <stop_token>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

struct SimulateOptions {
  // The site: a configuration file, or a random one by seed; with neither (and --demo) a built-in one.
  std::string config;
  std::optional<std::uint64_t> random;
  std::uint64_t seed = 1;  // of everything else that is left to chance

  double days = 42;
  std::string start = "2026-05-04T00:00:00Z";  // RFC 3339; ignored live

  // "KIND:key=value,..." with contract names, as in "high_resistance:zone=4,day=30,ohms=2,per_day=0.5".
  // Keys: zone, other, day (or at= seconds), until, ohms, per_day, turns, segment (box id), common, valves,
  // kind, gain, amps, volts, intermittent. See fault_plan.h for what each means.
  std::vector<std::string> faults;

  // Where to: a recording ("-" is standard output), or a broker "mqtt://host:port".
  std::string recording;
  std::string broker;
  double speed = 1;  // live: simulated seconds for one real second; messages carry no time of their own
  bool demo =
      false;  // live: four zones, runs of seconds, readings five times a second, a fault after about 30 s
  bool all_channels =
      false;  // every optional channel has a sensor; with a config the default is command only

  std::string truth;       // file for the truth as JSON
  std::string config_out;  // file for the site's configuration as TOML
};

struct SimulateReport {
  std::uint64_t messages = 0;
  std::uint64_t runs = 0;
  std::uint64_t bytes = 0;  // of the recording
};

// Returns when the recording is written, or (live) when `stop` is requested or the days are over. `say` is
// told a line now and then: what runs, when a fault begins. bad_config: the configuration; bad_input: a fault
// text; world: a file or the broker. Thread: any; blocks.
Result<SimulateReport> run_simulate(const SimulateOptions& options, std::stop_token stop,
                                    const std::function<void(std::string_view)>& say);

}  // namespace coilward
