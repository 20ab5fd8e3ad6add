// What is kept of one site's trial: what was true, what was said and when. Plain data, so that the scoring
// can be tested with hand-made ones.
#pragma once

#include <string>
#include <vector>

#include "daemon/pipeline.h"

namespace coilward::evaluate {

// A run (or, for a missed_run, a turn that was left out) while a fault was on.
struct AffectedRun {
  int zone = 0;
  UtcTime start = kNever;
  UtcTime end = kNever;
  double ohms = kNotMeasured;  // added at that time, of faults that grow
  double amps = kNotMeasured;  // as the pipeline saw it
};

struct TrueFault {
  Fault fault = Fault::open_circuit;
  std::vector<int> zones;  // every one it takes out, ascending
  UtcTime begin = kNever;
  UtcTime end = kNever;  // repaired, or the recording's end
  bool repaired = false;
  bool comes_and_goes = false;
  std::string from, to;  // the segment of a common
  std::string size;      // how big, for people
  std::vector<AffectedRun> runs;
};

// Told by the pipeline at this moment of the recording's clock.
struct Told {
  UtcTime at = kNever;
  Finding finding;
};

// What the site's sensors offer.
struct Offered {
  bool command = false, burst = false, supply_volts = false, zone_volts = false;
  bool common_current = false, temperature = false;
  std::string form;  // of the payloads
};

struct Cost {
  double simulate_s = 0, pipeline_s = 0, intake_s = 0;  // intake_s only where it was asked for
};

struct SiteRecord {
  int index = 0;
  std::vector<int> zones;
  int hertz = 60;
  Offered offered;
  UtcTime start = kNever, end = kNever;
  std::vector<TrueFault> faults;
  std::vector<std::string> incidents;  // what happened besides and is no fault, for people
  std::vector<Told> told;
  std::vector<Told> thumb;  // what the rule of thumb said of the same runs
  std::uint64_t messages = 0, turns = 0;
  Cost cost;
  std::string error;  // the trial itself failed
};

}  // namespace coilward::evaluate
