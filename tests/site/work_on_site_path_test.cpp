// Somebody works on the site (a pause): wires are off, zones are switched by hand. What is read meanwhile is
// kept and marked; it teaches nothing, and opens nothing.
#include <gmock/gmock.h>

#include "tests/site/driven_site.h"

namespace coilward {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

class WorkOnSitePath : public DrivenSite {
 protected:
  WorkOnSitePath() { learn(); }
  void work(int zone, Millis length) {
    ASSERT_TRUE(site->pause(clock.utc() + length, PauseScope{zone}, "Ben", "valve box B"));
  }
  std::size_t open() const { return site->findings(false)->size(); }
  ZoneState zone(int number) const {
    for (const ZoneState& state : site->zones())
      if (state.number == number) return state;
    return {};
  }
  coilward::Run last_run() const { return committed(&CommitUnit::runs).back(); }
};

TEST_F(WorkOnSitePath, RunsAreKeptAndMarked) {
  run(4, 0.230);
  EXPECT_FALSE(last_run().work_on_site);
  work(4, hours(2));
  run(4, 0.001);
  EXPECT_TRUE(last_run().work_on_site);
  run(3, 0.232);
  EXPECT_FALSE(last_run().work_on_site) << "nobody works on zone 3";
  EXPECT_EQ(Json::parse(reports_on("report/run").back().payload)["work_on_site"], false);
}

TEST_F(WorkOnSitePath, AWireThatIsOffMeanwhileIsNoFinding) {
  work(-1, hours(2));
  for (int times = 0; times < 3; ++times) run(4, 0.001);
  EXPECT_EQ(open(), 0U);
  pass(hours(2));
  for (int days = 0; days < 3; ++days) day(0.230);
  EXPECT_EQ(open(), 0U);
  EXPECT_TRUE(committed(&CommitUnit::findings).empty());
  EXPECT_TRUE(committed(&CommitUnit::outbox).empty());
}

TEST_F(WorkOnSitePath, WhatIsStillWrongAfterwardsIsFound) {
  work(4, hours(1));
  run(4, 0.001);
  EXPECT_EQ(open(), 0U);
  pass(hours(1));
  run(4, 0.001);
  ASSERT_EQ(open(), 1U);
  EXPECT_EQ(site->findings(false)->front().fault, Fault::open_circuit);
}

TEST_F(WorkOnSitePath, NothingIsLearnedMeanwhile) {
  const NormalDraw before = zone(4).normal;
  work(4, hours(3));
  for (int times = 0; times < 12; ++times) run(4, 0.236);
  EXPECT_EQ(zone(4).normal.runs, before.runs);
  EXPECT_NEAR(zone(4).normal.hold_amps, before.hold_amps, 1e-9);
}

// The watering that the work replaced is not missed, and runs by hand are no programme.
TEST_F(WorkOnSitePath, TheProgrammeIsNotMissedAndNotRelearned) {
  pass(*parse_rfc3339("2026-05-12T05:50:00Z") - clock.utc());
  work(-1, hours(4));
  for (int zone : {5, 5, 3}) run(zone, 0.230);
  pass(*parse_rfc3339("2026-05-13T06:00:00Z") - clock.utc());
  for (int days = 0; days < 4; ++days) day(0.230);
  EXPECT_EQ(open(), 0U);
}

// Whoever mends a wire wants to see it proved before leaving.
TEST_F(WorkOnSitePath, ARepairIsProvedWhileTheWorkGoesOn) {
  run(4, 0.001);
  ASSERT_EQ(open(), 1U);
  work(-1, hours(3));
  run(4, 0.120);
  ASSERT_EQ(open(), 1U) << "half done";
  ASSERT_TRUE(site->repaired(4, false, "Ben"));
  for (int times = 0; times < 4 && open() > 0; ++times) run(4, 0.230);
  EXPECT_FALSE(last_run().work_on_site);
  EXPECT_EQ(open(), 0U);
}

TEST_F(WorkOnSitePath, EndsEarlyWhenItIsSaidToBeOver) {
  work(4, hours(8));
  pass(minutes(5));
  ASSERT_TRUE(site->resume(PauseScope{4}, "Ben"));
  run(4, 0.001);
  EXPECT_FALSE(last_run().work_on_site);
  EXPECT_EQ(open(), 1U);
}

TEST_F(WorkOnSitePath, GoesOnAfterARestart) {
  work(4, hours(8));
  pass(seconds(1));
  site->commit();
  const Snapshot snapshot{units.back().snapshot, units.back().mark, clock.utc()};
  restart();
  ASSERT_TRUE(site->restore(snapshot));
  run(4, 0.001);
  EXPECT_TRUE(last_run().work_on_site);
  EXPECT_EQ(open(), 0U);
}

}  // namespace
}  // namespace coilward
