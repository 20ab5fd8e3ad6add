// The verbs that need no daemon: check-config, replay, simulate.
#include <fmt/format.h>

#include <csignal>
#include <nlohmann/json.hpp>
#include <thread>

#include "daemon/cli/command_setup.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/replay.h"
#include "daemon/cli/say.h"
#include "daemon/simulate/simulate_command.h"

namespace coilward {
namespace {

struct ConfigAsk {
  std::string file;
  bool json = false;
};

struct SimulateAsk {
  SimulateOptions options;
  bool json = false;
};

// Ends the simulation at SIGINT or SIGTERM. The signals are blocked, here and in threads made later, and
// waited for.
class StopAtSignal {
 public:
  StopAtSignal() {
    sigemptyset(&signals_);
    for (const int signal : {SIGINT, SIGTERM}) sigaddset(&signals_, signal);
    pthread_sigmask(SIG_BLOCK, &signals_, nullptr);
    waiter_ = std::jthread([this](const std::stop_token& over) { wait(over); });
  }
  std::stop_token token() const { return stop_.get_token(); }

 private:
  void wait(const std::stop_token& over) {
    const timespec step{0, 100'000'000};
    while (!over.stop_requested())
      if (sigtimedwait(&signals_, nullptr, &step) > 0) stop_.request_stop();
  }
  sigset_t signals_;
  std::stop_source stop_;
  std::jthread waiter_;
};

int simulate(const SimulateAsk& ask) {
  const StopAtSignal signal;
  const auto done = run_simulate(ask.options, signal.token(), [](std::string_view line) { say(line); });
  if (!done) return fail(done.error());
  const Json json = {{"messages", done->messages}, {"runs", done->runs}, {"bytes", done->bytes}};
  if (ask.json)
    print_json(json);
  else
    say(fmt::format("{} messages, {} runs", done->messages, done->runs));
  return kExitDone;
}

void add_simulate(CLI::App& app, Action& action) {
  auto ask = std::make_shared<SimulateAsk>();
  SimulateOptions& o = ask->options;
  CLI::App* verb = add_verb<SimulateAsk>(
      app, action, "simulate", "publish a simulated site to a broker, or write a recording", ask, simulate);
  auto* config = verb->add_option("--config", o.config, "the site: its configuration")->type_name("FILE");
  verb->add_option("--random", o.random, "the site: a random one, by this number")
      ->type_name("N")
      ->excludes(config);
  verb->add_option("--seed", o.seed, "of everything else that is left to chance")->type_name("N");
  verb->add_option("--days", o.days, "length (default 42)")->check(CLI::PositiveNumber);
  verb->add_option("--start", o.start, "first instant of a recording, RFC 3339")->type_name("TIME");
  verb->add_option("--fault", o.faults, "KIND:key=value,... as in high_resistance:zone=4,day=30,ohms=2")
      ->type_name("FAULT");
  auto* where = verb->add_option_group("where to")->require_option(1);
  where->add_option("--recording,--out", o.recording, "write a recording; - is standard output")
      ->type_name("FILE");
  where->add_option("--broker", o.broker, "publish live to mqtt://host:port")->type_name("URL");
  verb->add_option("--speed", o.speed, "live: simulated seconds for one real second")
      ->check(CLI::PositiveNumber);
  verb->add_flag("--demo", o.demo, "live: four zones, short runs, a fault after about 30 s");
  verb->add_flag("--all-channels", o.all_channels, "a sensor for every optional channel");
  verb->add_option("--truth", o.truth, "write the truth as JSON")->type_name("FILE");
  verb->add_option("--config-out", o.config_out, "write the site's configuration as TOML")->type_name("FILE");
  verb->add_flag("--json", ask->json, "say what was made as JSON");
}

}  // namespace

void add_bench_verbs(CLI::App& app, Action& action) {
  auto check = std::make_shared<ConfigAsk>();
  CLI::App* verb =
      add_verb<ConfigAsk>(app, action, "check-config", "say whether a configuration is good", check,
                          [](const ConfigAsk& a) { return check_config(a.file, a.json); });
  verb->add_option("file", check->file, "the configuration")->required()->type_name("FILE");
  verb->add_flag("--json", check->json, "data as JSON");

  auto ask = std::make_shared<ReplayOptions>();
  verb =
      add_verb(app, action, "replay", "feed a recording through the same stages as live data", ask, replay);
  verb->add_option("recording", ask->recording, "what mosquitto_sub -F '%j' printed; - is standard input")
      ->required()
      ->type_name("RECORDING");
  verb->add_option("--config", ask->config, "the site's configuration")->required()->type_name("FILE");
  verb->add_option("--state", ask->state, "keep history and state here; goes on from what is there")
      ->type_name("DIR");
  verb->add_flag("--json", ask->json, "findings as JSON, one object a line");
  add_simulate(app, action);
}

}  // namespace coilward
