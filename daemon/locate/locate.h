// finding -> place, with whatever was measured in the field: where the fault may be, how sure, and the next
// test reading worth taking (contract section 9). No clock, file or thread: the same for the daemon, for
// files alone and for tests.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/locate/test_choice.h"

namespace coilward {

// What is asked, with copies of its own but for the configuration: it may be thought about on another thread
// while the site goes on.
struct LocateInput {
  const Config& config;
  Finding finding;
  std::vector<Neighbour> neighbours;
  double hold_amps = kNotMeasured;    // learned for the zone that is measured
  std::vector<TestReading> readings;  // oldest first
};

struct Location {
  std::string finding;
  int zone = -1;              // whose wire is measured; -1: none
  bool solved = false;        // one place is left
  std::vector<Place> places;  // most probable first; they sum to 1, or there is none
  std::optional<NextReading> next;
  double minutes = 0;           // of work to be expected; not in the contract's JSON
  bool exact = true;            // see VisitPlan
  std::vector<bool> explained;  // each reading: by some place, taken alone
  std::string odd;              // when readings do not fit: sentences
};

Location locate_fault(const LocateInput& input);

// The parts of it: one of "places", "next".
Json place_to_json(const Place& place);
Json next_to_json(const NextReading& next);
// The shape of contract section 9; next has "toward" or "conductor" too where the reading has one.
Json location_to_json(const Location& location);

}  // namespace coilward
