#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "daemon/simulate/day.h"
#include "daemon/simulate/test_site.h"

namespace coilward::simulate {
namespace {

using testing::HasSubstr;

TEST(FaultText, SaysWhatWhereAndWhen) {
  const Config config = test_config();
  const auto splice = parse_fault("high_resistance:zone=4,day=30,ohms=2,per_day=0.5,until_day=40", config);
  ASSERT_TRUE(splice);
  EXPECT_EQ(splice->fault, Fault::high_resistance);
  EXPECT_EQ(splice->zone, 4);
  EXPECT_EQ(splice->begin_s, 30 * kDay);
  EXPECT_EQ(splice->end_s, 40 * kDay);
  EXPECT_EQ(splice->ohms, 2);
  EXPECT_EQ(splice->ohms_per_day, 0.5);
  const auto common = parse_fault("failed_common:segment=B", config);
  ASSERT_TRUE(common);
  EXPECT_EQ(common->box, 1);
  EXPECT_EQ(parse_fault("failed_common", config)->box, -1);
}

TEST(FaultText, WrongOnesAreExplained) {
  const Config config = test_config();
  const auto what = [&](const char* text) {
    const auto fault = parse_fault(text, config);
    return fault ? std::string("accepted") : fault.error().what;
  };
  EXPECT_THAT(what("melted:zone=1"), HasSubstr("melted"));
  EXPECT_THAT(what("open_circuit"), HasSubstr("needs zone="));
  EXPECT_THAT(what("open_circuit:zone=17"), HasSubstr("no zone 17"));
  EXPECT_THAT(what("crossed_wires:zone=1,other=1"), HasSubstr("other="));
  EXPECT_THAT(what("open_circuit:zone=1,colour=red"), HasSubstr("colour=red"));
  EXPECT_THAT(what("open_circuit:zone=1,day=soon"), HasSubstr("day=soon"));
  EXPECT_THAT(what("failed_common:segment=Q"), HasSubstr("segment=Q"));
  EXPECT_THAT(what("shorted_coil:zone=1,turns=3"), HasSubstr("share"));
}

TEST(FaultText, EveryFaultHasZones) {
  Scenario scenario = test_scenario({});
  for (int i = 0; i < kFaults; ++i) {
    const FaultPlan plan = random_fault(static_cast<Fault>(i), scenario, 10, 20, 77);
    EXPECT_EQ(plan.fault, static_cast<Fault>(i));
    EXPECT_FALSE(fault_zones(plan, scenario.config).empty()) << fault_name(plan.fault);
    EXPECT_GE(plan.begin_s, 10);
    EXPECT_LE(plan.begin_s, 20);
  }
}

}  // namespace
}  // namespace coilward::simulate
