// Many random sites, some healthy and some with a known fault, to judge a diagnosis by.
#pragma once

#include <vector>

#include "daemon/simulate/scenario.h"

namespace coilward::simulate {

struct PopulationPlan {
  std::uint64_t seed = 1;
  int sites = 500;
  double days = 42;
  double healthy = 0.3;          // share of sites without a fault
  double two_faults = 0.08;      // share of the others that have a second, different one
  double from_first_day = 0.08;  // share of faults that are there before anything was learned
  double repaired = 0.15;        // share of faults that end before the recording does
  double coil_replaced = 0.06;   // share of sites where a sound coil gives way to one of another make
  int most_zones = 24;
  std::vector<Fault> faults;  // empty: every kind, in turn
};

// The scenario of one site, 0 <= index < plan.sites. Depends on nothing but the plan and the index, so that
// sites can be made in any order and on any thread.
Scenario population_site(const PopulationPlan& plan, int index);

// Writes DIR/<index>.jsonl, .toml and .truth.json. Returns the messages written.
Result<std::uint64_t> write_population_site(const PopulationPlan& plan, int index,
                                            const std::string& directory);

}  // namespace coilward::simulate
