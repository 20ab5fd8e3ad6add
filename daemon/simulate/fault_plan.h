// What goes wrong at a simulated site, when, and how big. Names and meaning are those of the contract's
// faults.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward::simulate {

enum class Trip { none, cut_out, fuse };  // what ends a full short
enum class SensorTrouble { silent, frozen, out_of_range, gain, zero };

// Fields that do not belong to the fault are ignored. NaN sizes are filled by settle_fault.
struct FaultPlan {
  Fault fault = Fault::open_circuit;
  double begin_s = 0;                                      // since the simulation's start
  double end_s = std::numeric_limits<double>::infinity();  // repaired
  int zone = -1;                                           // kMasterZone is a zone; -1: none
  int other = -1;                                          // crossed_wires: the second zone
  int common = 0;                                          // position in Config::commons
  int box = -1;                // the far end of the common's segment; -1: at the controller itself
  double ohms = kNotMeasured;  // added; of the short; to earth
  double ohms_per_day = 0;     // growth of added ohms
  double turns = 1;            // share of turns left in a partial short; 0: full short
  int valves = 1;              // lost, blocked or shorted
  double amount = 1;  // plunger: share of its travel that stays open; stuck_on: share of the full current
  double volts = kNotMeasured;  // supply_low: secondary with nothing on
  Trip trip = Trip::cut_out;
  SensorTrouble trouble = SensorTrouble::silent;
  double gain = kNotMeasured;
  double amps = kNotMeasured;  // zero shift, or the value out of range
  bool skipped = false;        // missed_run: later zones start earlier; else its slot stays empty
  // Comes and goes: it holds for this share of periods. 1: always.
  double duty = 1;
  double period_s = 3600;
};

// "KIND:key=value,..." Times: day= (from the start), at= seconds, until_day=, until= seconds. A segment is
// named by its far box: segment=B. bad_input says what is wrong and what is allowed.
Result<FaultPlan> parse_fault(std::string_view text, const Config& config);

// Fills the sizes that were left open with ones that are usual for the fault.
void settle_fault(FaultPlan& plan, const Config& config, std::uint64_t seed);

// Every zone it takes out, as the contract's finding lists them: ascending.
std::vector<int> fault_zones(const FaultPlan& plan, const Config& config);

// True at a time, with coming and going.
bool is_active(const FaultPlan& plan, double seconds);
// Ohms added at a time: begin plus growth, with the daily ups and downs of a wet splice.
double grown_ohms(const FaultPlan& plan, double seconds);

// The truth about it: what, where, how big, from when until when.
Json fault_to_json(const FaultPlan& plan, const Config& config, UtcTime start);

bool box_is_beyond(const Config& config, int box,
                   int from);  // box is `from` or lies behind it; from -1: always

}  // namespace coilward::simulate
