#include <CLI/CLI.hpp>
#include <cstdio>

#include "daemon/base/log.h"
#include "tools/evaluation/evaluation.h"

namespace {

using namespace coilward;

std::vector<Fault> faults_of(const std::vector<std::string>& names) {
  std::vector<Fault> faults;
  for (const std::string& name : names) {
    const auto fault = fault_from_name(name);
    if (!fault) throw CLI::ValidationError("--fault", "\"" + name + "\" is no fault");
    faults.push_back(*fault);
  }
  return faults;
}

}  // namespace

int main(int argc, char** argv) {
  evaluate::EvaluationOptions options;
  options.plan.sites = 100;
  std::vector<std::string> names;
  CLI::App app("Tries the diagnosis on simulated sites whose faults are known, and counts what it said.");
  app.add_option("--seed", options.plan.seed, "of the sites")->capture_default_str();
  app.add_option("--sites", options.plan.sites, "how many")
      ->check(CLI::PositiveNumber)
      ->capture_default_str();
  app.add_option("--days", options.plan.days, "of each")->check(CLI::Range(1, 366))->capture_default_str();
  app.add_option("--fault", names, "only these faults")->delimiter(',');
  app.add_option("--healthy", options.plan.healthy, "share of sites without a fault")
      ->check(CLI::Range(0.0, 1.0))
      ->capture_default_str();
  app.add_option("--site", options.site, "this site of them alone, with all that was said");
  app.add_option("--threads", options.threads)->check(CLI::Range(1, 64))->capture_default_str();
  app.add_option("--worst", options.worst, "worst cases to show")->capture_default_str();
  app.add_flag("--time-intake", options.time_intake, "decode twice to learn the intake's share of the time");
  app.add_flag("!--no-timing", options.timing, "leave out what differs from run to run");
  try {
    app.parse(argc, argv);
    options.plan.faults = faults_of(names);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  }
  return evaluate::evaluate(options);
}
