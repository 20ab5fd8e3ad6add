#include <gtest/gtest.h>

#include <cmath>

#include "daemon/simulate/demo.h"
#include "daemon/simulate/population.h"
#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

void expect_same(double a, double b) {
  EXPECT_EQ(measured(a), measured(b));
  if (measured(a)) {
    EXPECT_NEAR(a, b, 0.0006);
  }
}

void expect_read_back(const Config& config) {
  const auto read = parse_config(config_text(config), "test");
  ASSERT_TRUE(read) << read.error().what << "\n" << config_text(config);
  EXPECT_EQ(read->site.id, config.site.id);
  EXPECT_EQ(read->supply.hertz, config.supply.hertz);
  ASSERT_EQ(read->zones.size(), config.zones.size());
  ASSERT_EQ(read->boxes.size(), config.boxes.size());
  ASSERT_EQ(read->commons.size(), config.commons.size());
  EXPECT_EQ(read->master.present, config.master.present);
  EXPECT_EQ(read->sensors.size(), config.sensors.size());
  for (std::size_t i = 0; i < config.zones.size(); ++i) {
    EXPECT_EQ(read->zones[i].number, config.zones[i].number);
    EXPECT_EQ(read->zones[i].box, config.zones[i].box);
    EXPECT_EQ(read->zones[i].common, config.zones[i].common);
    EXPECT_EQ(read->zones[i].valves, config.zones[i].valves);
    EXPECT_NEAR(read->zones[i].wire.square_mm, config.zones[i].wire.square_mm, 0.01);
    expect_same(read->zones[i].hold_amps, config.zones[i].hold_amps);
    expect_same(read->zones[i].inrush_amps, config.zones[i].inrush_amps);
  }
  for (std::size_t i = 0; i < config.boxes.size(); ++i) {
    EXPECT_EQ(read->boxes[i].parent, config.boxes[i].parent);
    EXPECT_EQ(read->boxes[i].metres, config.boxes[i].metres);
  }
}

TEST(ConfigText, IsAcceptedAsWritten) {
  expect_read_back(demo_config());
  for (std::uint64_t seed = 1; seed <= 60; ++seed) expect_read_back(random_scenario(seed, {}).config);
}

TEST(Population, IsMixedAndDoesNotDependOnOrder) {
  PopulationPlan plan;
  plan.sites = 60;
  plan.days = 5;
  int healthy = 0, seen[kFaults] = {};
  for (int i = plan.sites - 1; i >= 0; --i) {
    const Scenario site = population_site(plan, i);
    healthy += site.faults.empty();
    for (const FaultPlan& fault : site.faults) ++seen[static_cast<int>(fault.fault)];
    EXPECT_EQ(config_text(site.config), config_text(population_site(plan, i).config));
  }
  EXPECT_GT(healthy, 8);
  EXPECT_LT(healthy, 32);
  int kinds = 0;
  for (const int count : seen) kinds += count > 0;
  EXPECT_GE(kinds, 12);
}

}  // namespace
}  // namespace coilward::simulate
