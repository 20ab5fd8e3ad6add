// Whether a repair holds: what each repaired output must draw, and what its next runs say to that. Not merely
// above zero: within what was learned of this coil and wire before the fault, or, where too little was
// learned or another coil was put in, within what the circuit gives for the configured coil. Thread: one at a
// time.
#pragma once

#include <array>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/draw/draw_model.h"
#include "daemon/pipeline.h"

namespace coilward {

// One output on trial.
struct ZoneTrial {
  RepairedZone seen;  // what is said of it
  // Amps for each unit of DrawSample::amps_scale, and half the band's width as a logarithm: without and with
  // known volts.
  std::array<double, 2> level{}, width{};
  double ohms = 0, reactance = 0;  // of its whole circuit before the fault
  bool learned = false;            // level is what was learned; else the circuit's
  bool judged = false, held = false;

  // What was learned of it until now.
  static ZoneTrial before(const DrawModel& model, int index);
  // By the circuit, after the model has forgotten it.
  void expect_by_circuit(const DrawModel& model, int index);
  void judge(const Run& run, const DrawSample& sample);
};

class RepairTrial {
 public:
  UtcTime marked = kNever;
  bool new_coil = false;
  std::vector<ZoneTrial> zones;

  // A look at a run that shows its level: of a zone on trial, begun after the repair was marked. true:
  // judged.
  bool judge(const Run& run, const DrawSample& sample);
  bool failed() const;
  bool proved() const;  // one zone at least has shown it, and none the opposite
  bool has_failed(int zone) const;
  // What `finding` measured of the zones while the fault was there; only what is not known yet.
  void note_fault(const Finding& finding);
  // What is still unproved of an earlier trial: its levels stand, unless a coil was changed now.
  void continue_from(const RepairTrial& earlier);

  RepairProof told() const;

  Json save() const;
  static RepairTrial restore(const Json& saved);
};

// What a zone's circuit has gained in series when it draws `share` (between 0 and 1) of what it did; NaN
// where that says nothing.
double added_ohms(double ohms, double reactance, double share);

}  // namespace coilward
