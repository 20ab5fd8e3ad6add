// Tries many sites on a few threads; the outcome does not depend on how many.
#pragma once

#include <string>
#include <vector>

#include "daemon/simulate/population.h"
#include "tools/evaluation/record.h"

namespace coilward::evaluate {

struct EvaluationOptions {
  simulate::PopulationPlan plan;
  int site = -1;  // this one only, with everything about it
  int threads = 2;
  int worst = 10;
  bool time_intake = false;
  bool timing = true;  // seconds and messages a second: differ from run to run
};

std::vector<SiteRecord> try_sites(const EvaluationOptions& options);
// Exit status: 1 when a trial failed.
int evaluate(const EvaluationOptions& options);

}  // namespace coilward::evaluate
