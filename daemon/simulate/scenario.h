// All that a simulation needs: a site, what it does, what goes wrong, how it is measured; and how to get one.
#pragma once

#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/simulate/fault_plan.h"
#include "daemon/simulate/programme.h"
#include "daemon/simulate/sensor.h"
#include "daemon/simulate/site_plan.h"
#include "daemon/simulate/surroundings.h"

namespace coilward::simulate {

// Things that happen to a healthy site and are no faults.
struct Incident {
  enum class Kind {
    gap,
    coil_replaced,
    retained,
    sensor_replaced,  // another specimen of the same make: its gain and zero are its own
    restart,          // of whoever listens: told in the truth, for those who try that; no message is lost
  } kind = Kind::gap;
  double begin_s = 0;
  double end_s = 0;           // gap: nothing arrives until then
  int zone = 0;               // coil_replaced, sensor_replaced
  double gain = 1, zero = 0;  // sensor_replaced: against the one before
};

struct Scenario {
  Config config;  // what the owner would write down
  TrueSite site;
  SurroundingsPlan surroundings;
  ProgrammePlan programme;
  std::vector<SensorPlan> sensors;
  std::vector<FaultPlan> faults;
  std::vector<Incident> incidents;
  UtcTime start = kNever;
  double days = 42;
  std::uint64_t seed = 1;
};

// Which optional channels have sensors, beside every zone's current.
struct Channels {
  bool command = true;
  bool supply_volts = false;
  bool zone_volts = false;
  bool common_current = false;
  bool soil = false;
  bool air = false;
  bool master = true;  // where the site has one
};

// How a site's sensors are, as one maker builds them.
struct SensorMake {
  PayloadForm form = PayloadForm::number;
  bool own_time = false;
  bool burst = false;
  double gain_sigma = 0.015;
  double noise_share = 0.004;
  double quantum_amps = 0.001;
  double quick_s = 1, idle_s = 60;
  QuickWhen quick_when = QuickWhen::commanded;
  double loss = 0, command_loss = 0;  // share of messages that never arrive
  double jitter_s = 0.01;
};

SensorMake draw_make(std::uint64_t seed, const Channels& channels, int zones);
std::vector<SensorPlan> make_sensors(const Config& config, const Channels& channels, const SensorMake& make,
                                     std::uint64_t seed);

// The site of a configuration, with what the file leaves open drawn by seed.
Scenario scenario_of(const Config& config, const Channels& channels, UtcTime start, double days,
                     std::uint64_t seed);

struct RandomOptions {
  double days = 42;
  UtcTime start = kNever;  // kNever: by chance, spring to autumn
  int least_zones = 2, most_zones = 48;
  bool incidents = true;  // gaps, sensors replaced, restarts, retained leftovers
};
// A whole site by seed, drawn wide: tree of boxes, copper, coils, source, channels, sensors, programme. No
// faults.
Scenario random_scenario(std::uint64_t seed, const RandomOptions& options);
Config random_config(std::uint64_t seed, const RandomOptions& options);
Channels random_channels(std::uint64_t seed);
// A fault that this site can have, by seed; onset between two times (seconds).
FaultPlan random_fault(Fault fault, const Scenario& scenario, double earliest_s, double latest_s,
                       std::uint64_t seed);

// The configuration as a file that parse_config accepts.
std::string config_text(const Config& config);

}  // namespace coilward::simulate
