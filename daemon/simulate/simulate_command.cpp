#include "daemon/simulate/simulate_command.h"

#include <fmt/format.h>

#include <chrono>
#include <nlohmann/json.hpp>

#include "daemon/simulate/demo.h"
#include "daemon/simulate/live.h"
#include "daemon/simulate/recording_writer.h"
#include "daemon/simulate/simulation.h"
#include "daemon/simulate/text_file.h"

namespace coilward {
namespace {

using namespace simulate;
using Say = std::function<void(std::string_view)>;

Channels channels_of(const SimulateOptions& options) {
  Channels channels;
  channels.command = true;
  channels.supply_volts = channels.zone_volts = channels.common_current = options.all_channels;
  channels.soil = channels.air = options.all_channels;
  if (options.demo) channels.supply_volts = true;
  return channels;
}

UtcTime now_whole_seconds() {
  return std::chrono::time_point_cast<Millis>(
      std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()));
}

Result<Scenario> base_scenario(const SimulateOptions& options, UtcTime start) {
  if (options.random) {
    RandomOptions random;
    random.days = options.days;
    random.start = start;
    return random_scenario(*options.random, random);
  }
  Config config = demo_config();
  if (!options.config.empty()) {
    auto loaded = load_config(options.config);
    if (!loaded) return loaded.error();
    config = std::move(*loaded);
  }
  return scenario_of(config, channels_of(options), start, options.days, options.seed);
}

Result<Scenario> scenario_for(const SimulateOptions& options) {
  const bool live = options.recording.empty();
  const auto said = parse_rfc3339(options.start);
  if (!live && !said) return Error{Cause::bad_input, "--start \"" + options.start + "\" is no RFC 3339 time"};
  auto scenario = base_scenario(options, live ? now_whole_seconds() : *said);
  if (!scenario) return scenario;
  for (const std::string& text : options.faults) {
    auto fault = parse_fault(text, scenario->config);
    if (!fault) return fault.error();
    settle_fault(*fault, scenario->config, options.seed);
    scenario->faults.push_back(*fault);
  }
  if (options.demo) make_demo(*scenario);
  for (SensorPlan& sensor : scenario->sensors) sensor.own_time = sensor.own_time && !live;
  return scenario;
}

Result<SimulateReport> record(Simulation& simulation, const std::string& path, std::stop_token stop) {
  auto writer = RecordingWriter::open(path);
  if (!writer) return writer.error();
  SimulateReport report;
  for (SimulatedMessage message; !stop.stop_requested() && simulation.next(message); ++report.messages)
    if (const auto written = writer->write(message); !written) return written.error();
  if (const auto finished = writer->finish(); !finished) return finished.error();
  report.bytes = writer->bytes();
  report.runs = simulation.runs();
  return report;
}

// Tells of faults as they come and go; in the demonstration of each switch-on as well.
class Teller final : public SimulationWatcher {
 public:
  Teller(const Say& say, bool commands) : say_(say), commands_(commands) {}
  void on_command(const Command& command) override {
    if (commands_ && command.on && say_) say_(fmt::format("zone {} on", command.output));
  }
  void on_fault(const FaultPlan& fault, bool begins) override {
    const std::string where = fault.zone >= 0 ? fmt::format(" (zone {})", fault.zone) : "";
    if (say_)
      say_(fmt::format("{} {}{}", begins ? "now begins:" : "mended:", fault_name(fault.fault), where));
  }

 private:
  const Say& say_;
  bool commands_;
};

}  // namespace

Result<SimulateReport> run_simulate(const SimulateOptions& options, std::stop_token stop, const Say& say) {
  auto scenario = scenario_for(options);
  if (!scenario) return scenario.error();
  if (const auto done = write_text_file(options.config_out, config_text(scenario->config)); !done)
    return done.error();
  Teller teller(say, options.demo);
  Simulation simulation(std::move(*scenario), &teller);
  SimulateReport report;
  if (options.recording.empty()) {
    const auto sent = publish_live(simulation, options.broker, options.speed, stop);
    if (!sent) return sent.error();
    report.messages = *sent;
    report.runs = simulation.runs();
  } else {
    auto recorded = record(simulation, options.recording, stop);
    if (!recorded) return recorded;
    report = *recorded;
  }
  if (const auto done = write_text_file(options.truth, simulation.truth().dump(1) + "\n"); !done)
    return done.error();
  return report;
}

}  // namespace coilward
