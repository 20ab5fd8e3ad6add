// What the controller means to do: on which days, when, which zones in which order, for how long.
#pragma once

#include <string>
#include <vector>

#include "daemon/simulate/chance.h"
#include "daemon/simulate/fault_plan.h"

namespace coilward::simulate {

struct Turn {
  std::vector<int> zones;  // usually one; two run together
  double seconds = 600;
};

// One programme. Days are counted from the start of the simulation, local dates.
struct Programme {
  unsigned weekdays = 0x7F;        // bit 0 is Sunday
  int every_seconds = 0;           // instead of start times: again and again, for demonstrations
  std::vector<int> start_minutes;  // of the local day
  std::vector<Turn> turns;
  double gap_s = 0;  // between turns
  double from_day = 0, to_day = 1e9;
};

struct ProgrammePlan {
  std::vector<Programme> programmes;
  std::vector<std::pair<double, double>> rain_delays;  // from day, to day: nothing runs
  bool master_runs = false;  // the master output is on from before the first turn to after the last
  double drift_s = 0;        // by which the controller's clock is off, a day
};

struct Command {
  double time = 0;  // seconds since the start
  int output = 0;
  bool on = false;
};

// The commands of one local day, by time. missed_run faults have been taken out. Overlapping starts wait for
// each other, as in a controller.
std::vector<Command> commands_of_day(const ProgrammePlan& plan, const std::vector<FaultPlan>& faults,
                                     UtcTime start, const std::string& timezone, int day);

// A programme for these zones as people set them up, by chance.
ProgrammePlan draw_programme(const Config& config, std::uint64_t seed, double days);

}  // namespace coilward::simulate
