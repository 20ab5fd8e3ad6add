// The whole, small: sites whose faults are hard to overlook, tried twice.
#include "tools/evaluation/evaluation.h"

#include <gtest/gtest.h>

#include <cstdlib>

#include <set>

#include "tools/evaluation/tally.h"
#include "tools/evaluation/true_faults.h"

namespace coilward::evaluate {
namespace {

EvaluationOptions few_sites() {
  EvaluationOptions options;
  options.plan.sites = 12;
  options.plan.days = 21;
  options.plan.most_zones = 8;
  options.plan.healthy = 0.2;
  options.plan.two_faults = 0;
  options.plan.faults = {Fault::open_circuit, Fault::failed_common, Fault::supply_lost, Fault::stuck_on};
  return options;
}

struct Outcomes {
  std::string text;
  int counted = 0, right = 0;
  std::size_t said = 0;
};

Outcomes outcomes(const EvaluationOptions& options) {
  ::setenv("COILWARD_PLUGINS", COILWARD_BINARY_DIR "/plugins", 0);
  Outcomes all;
  Tally tally;
  for (const SiteRecord& record : try_sites(options)) {
    EXPECT_EQ(record.error, "");
    const SiteScore it = score(record, record.told);
    tally.add(record, record.told, it);
    all.said += record.told.size();
    for (const FaultScore& fault : it.faults) {
      all.counted += fault.outcome != Outcome::not_counted;
      all.right += fault.outcome == Outcome::right;
    }
  }
  all.text = tally.text();
  return all;
}

TEST(Evaluation, HardFaultsAreMostlyRightAndASeedGivesTheSameText) {
  EvaluationOptions options = few_sites();
  const Outcomes one = outcomes(options);
  EXPECT_GE(one.counted, 6);
  EXPECT_GE(one.right * 2, one.counted) << one.text;
  EXPECT_GT(one.said, 0u);
  options.threads = 1;
  EXPECT_EQ(one.text, outcomes(options).text);
}

// A population has every form of payload and every channel at some sites and not at others.
TEST(Evaluation, ThePopulationIsWide) {
  std::set<std::string> forms;
  std::set<bool> command, burst, supply, common, temperature;
  std::size_t incidents = 0;
  for (int i = 0; i < 60; ++i) {
    SiteRecord record;
    describe(simulate::population_site({}, i), record);
    forms.insert(record.offered.form);
    command.insert(record.offered.command);
    burst.insert(record.offered.burst);
    supply.insert(record.offered.supply_volts);
    common.insert(record.offered.common_current);
    temperature.insert(record.offered.temperature);
    incidents += record.incidents.size();
  }
  EXPECT_EQ(forms, (std::set<std::string>{"json", "number", "senml+cbor", "senml+json"}));
  for (const auto& both : {command, burst, supply, common, temperature}) EXPECT_EQ(both.size(), 2u);
  EXPECT_GT(incidents, 60u);
}

}  // namespace
}  // namespace coilward::evaluate
