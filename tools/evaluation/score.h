// What was said against what was true, for one site.
#pragma once

#include <optional>
#include <vector>

#include "tools/evaluation/record.h"

namespace coilward::evaluate {

enum class Outcome {
  right,        // class and zones, when the fault or the recording ended
  wrong_zones,  // the class, but not all or too many zones
  misnamed,     // another class, of zones that it concerns
  withdrawn,    // said at some time, but not held to the end
  missed,       // nothing
  not_counted,  // its zones did not run often enough, or without volts, or it was still too small to matter
};
inline constexpr int kOutcomes = 6;
const char* outcome_name(Outcome outcome);

struct FaultScore {
  Outcome outcome = Outcome::missed;
  std::optional<Fault> named;         // what was said at the end
  double probability = 0;             // and with what probability
  std::optional<std::size_t> said;    // position in the told list where it was first right
  bool timely = false;                // as early as can be asked for
  std::size_t runs_until = 0;         // affected runs begun when it was first right
  double hours_until = 0;             // from the first affected run
  double ohms_said = kNotMeasured;    // added at that time
  std::optional<bool> segment_right;  // of a failed common: ranked first
};

// One forecast that came true or not.
struct Forecast {
  double probability = 0;
  bool right = false;
};

struct SiteScore {
  std::vector<FaultScore> faults;           // beside the record's
  std::vector<std::size_t> false_findings;  // positions in the told list where an unexplained one opened
  double unexplained_zone_days = 0;         // zone-days in which a finding about the zone is a false one
  std::vector<Forecast> first, last;        // of every finding, as first and as last said
};

SiteScore score(const SiteRecord& record, const std::vector<Told>& told);

// Class and zones are the fault's. A common with one zone behind the break and that zone's own wire are the
// same to everybody.
bool says(const Finding& finding, const TrueFault& fault);
// The fault is on, or was until lately, and concerns a zone of the finding.
bool explains(const TrueFault& fault, const Finding& finding, UtcTime at);

}  // namespace coilward::evaluate
