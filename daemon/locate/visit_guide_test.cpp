// A visit on paper: followed step by step, the readings lead to the place where the break is.
#include "daemon/locate/visit_guide.h"

#include "daemon/locate/locate_site.h"
#include "daemon/locate/visit_parts.h"

namespace coilward {
namespace {

struct Guide : testing::Test {
  Config config = row_of_boxes({18, 31, 24, 40});
  Finding finding = finding_of(Fault::open_circuit, {4});
  LocateInput input() { return {config, finding, others_draw(config, finding), 0.23, {}}; }
};

TEST_F(Guide, BeginsWithWhatLocateProposes) {
  const auto steps = visit_guide(input());
  ASSERT_FALSE(steps.empty());
  const Location now = locate_fault(input());
  EXPECT_EQ(steps[0].reading.at, now.next->at);
  EXPECT_EQ(steps[0].outcomes.size(), now.next->expect.size());
}

TEST_F(Guide, EveryOutcomeLeadsFurtherOrToPlaces) {
  const auto steps = visit_guide(input());
  EXPECT_LE(steps.size(), kMostGuideSteps);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    EXPECT_EQ(steps[i].number, static_cast<int>(i) + 1);
    for (const GuideOutcome& o : steps[i].outcomes) {
      EXPECT_FALSE(o.places.empty());
      EXPECT_TRUE(o.next_step == 0 ||
                  (o.next_step > steps[i].number && o.next_step <= static_cast<int>(steps.size())));
      EXPECT_FALSE(o.next_step > 0 && o.more);
    }
  }
}

// What paper says is what locate says to the same readings.
TEST_F(Guide, FollowedIsAsAsked) {
  const auto steps = visit_guide(input(), 15);
  LocateInput asked = input();
  int step = 1;
  const GuideOutcome* taken = nullptr;
  while (step > 0) {
    const GuideStep& now = steps.at(static_cast<std::size_t>(step - 1));
    taken = &now.outcomes.back();
    TestReading r{now.reading.kind, 4, now.reading.at};
    r.toward = now.reading.toward;
    r.conductor = now.reading.conductor;
    r.source_volts = 40;
    r.value = taken->expect.high >= kOpenOhms ? kOpenOhms : (taken->expect.low + taken->expect.high) / 2;
    asked.readings.push_back(r);
    step = taken->next_step;
  }
  const Location found = locate_fault(asked);
  EXPECT_TRUE(found.places.front().same_spot(taken->places.front()));
  EXPECT_EQ(found.solved, taken->solved);
}

TEST_F(Guide, NothingToMeasureGivesNoSteps) {
  finding = finding_of(Fault::sensor_fault, {4});
  EXPECT_TRUE(visit_guide(input()).empty());
}

bool has(const std::vector<VisitPart>& parts, const std::string& word) {
  return std::ranges::any_of(parts,
                             [&](const VisitPart& p) { return p.what.find(word) != std::string::npos; });
}

TEST_F(Guide, PartsAreOfTheGaugesAndRatingsConfigured) {
  const auto parts = visit_parts(config, finding, locate_fault(input()), visit_guide(input()));
  EXPECT_TRUE(has(parts, "splice connectors for direct burial, 18 AWG"));
  EXPECT_TRUE(has(parts, "holds at 0.23 A"));
  EXPECT_TRUE(has(parts, "spade"));
  EXPECT_FALSE(has(parts, "transformer"));
  finding = finding_of(Fault::supply_lost, {1, 2, 3, 4});
  EXPECT_TRUE(has(visit_parts(config, finding, locate_fault(input()), {}), "transformer, 24 V"));
  finding = finding_of(Fault::shorted_coil, {4}, 1.6);
  EXPECT_TRUE(has(visit_parts(config, finding, locate_fault(input()), {}), "solenoid"));
}

}  // namespace
}  // namespace coilward
