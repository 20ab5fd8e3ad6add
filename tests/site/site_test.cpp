// What a site commits, reports and tells.
#include <gmock/gmock.h>

#include <algorithm>

#include "daemon/web/site_snapshot.h"
#include "tests/site/driven_site.h"

namespace coilward {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;
using testing::HasSubstr;

class SiteTest : public DrivenSite {};

TEST_F(SiteTest, ReadingsAloneWaitForTheirTime) {
  say("zone/3/current", "0.0005");
  for (int s = 0; s < 299; ++s) pass(seconds(1));
  EXPECT_TRUE(committed(&CommitUnit::readings).empty());
  pass(seconds(1));
  EXPECT_EQ(committed(&CommitUnit::readings).size(), 1U);
  ASSERT_FALSE(units.empty());
  EXPECT_EQ(units.back().mark, 1U);
  EXPECT_TRUE(read_site_snapshot(units.back().snapshot));
}

TEST_F(SiteTest, AFinishedRunIsCommittedAndReportedAtOnce) {
  run(3, 0.232);
  const auto runs = committed(&CommitUnit::runs);
  ASSERT_EQ(runs.size(), 1U);
  EXPECT_EQ(runs[0].zone, 3);
  const auto told = reports_on("report/run");
  ASSERT_EQ(told.size(), 1U);
  EXPECT_FALSE(told[0].retained);
  EXPECT_EQ(Json::parse(told[0].payload)["site"], "juniper-row-12");
  EXPECT_TRUE(std::any_of(reports.begin(), reports.end(), [](const DrivenReport& r) {
    return r.topic == "coilward/juniper-row-12/report/zone/3" && r.retained;
  }));
}

TEST_F(SiteTest, WhatWasKeptBeforeTheRestartIsNotKeptAgain) {
  say("zone/3/current", "0.1", false);
  say("zone/3/current", "0.2", true);
  site->commit();
  const auto readings = committed(&CommitUnit::readings);
  ASSERT_EQ(readings.size(), 1U);
  EXPECT_DOUBLE_EQ(readings[0].value, 0.2);
  EXPECT_EQ(units.back().mark, 2U);
}

TEST_F(SiteTest, ABrokenWireIsFoundReportedCommittedAndTold) {
  learn();
  EXPECT_TRUE(reports_on("report/finding/").empty());
  run(4, 0.001);
  const auto findings = committed(&CommitUnit::findings);
  ASSERT_FALSE(findings.empty());
  EXPECT_EQ(findings.back().fault, Fault::open_circuit);
  EXPECT_EQ(findings.back().zones, std::vector<int>{4});
  const auto told = reports_on("report/finding/" + findings.back().id);
  ASSERT_FALSE(told.empty());
  EXPECT_TRUE(told.back().retained);
  pass(minutes(1));
  const auto outbox = committed(&CommitUnit::outbox);
  ASSERT_EQ(outbox.size(), 1U);
  EXPECT_EQ(outbox[0].notifier, "n");
  EXPECT_THAT(outbox[0].json, HasSubstr(findings.back().id));
  EXPECT_EQ(site->findings(false)->size(), 1U);
}

// Ten days of messages lie in the spool after an outage: their silence is the reader's, not the sensors'.
// (These speak only while a zone is on, so that a week of silence may be a pause.)
TEST_F(SiteTest, TimeDoesNotPassBeyondWhatWaits) {
  learn();
  for (int hour = 0; hour < 240; ++hour) {
    clock.advance(hours(1));
    site->tick(true);
  }
  EXPECT_TRUE(site->findings(false)->empty());
  site->tick(false);
  site->tick(false);
  clock.advance(minutes(1));
  site->tick(false);
  ASSERT_EQ(site->findings(false)->size(), 1U)
      << "nothing waits any more, and nothing was heard for ten days";
  EXPECT_EQ(site->findings(false)->front().fault, Fault::sensor_fault);
}

TEST_F(SiteTest, AFindingThatEndsIsSaidOnceMoreAndThenCleared) {
  learn();
  run(4, 0.001);
  ASSERT_EQ(site->findings(false)->size(), 1U);
  const std::string id = site->findings(false)->front().id;
  ASSERT_TRUE(site->repaired(4, false, "Anna"));
  for (int i = 0; i < 4 && !site->findings(false)->empty(); ++i) day(0.230);
  ASSERT_TRUE(site->findings(false)->empty());
  const auto told = reports_on("report/finding/" + id);
  ASSERT_GE(told.size(), 3U);
  const DrivenReport& last = told[told.size() - 2];
  EXPECT_FALSE(last.retained);
  EXPECT_FALSE(Json::parse(last.payload)["closed"].is_null());
  EXPECT_TRUE(told.back().retained);
  EXPECT_EQ(told.back().payload, "");
}

TEST_F(SiteTest, ARestartGoesOnWhereTheSnapshotEnded) {
  learn();
  run(4, 0.001);
  site->commit();
  ASSERT_FALSE(units.empty());
  const Snapshot snapshot{units.back().snapshot, units.back().mark, clock.utc()};
  SiteLinks links;
  links.commit = [](CommitUnit) {};
  links.publish = [](const std::string&, const std::string&, bool) {};
  auto intake = Intake::make(config, host);
  ASSERT_TRUE(intake);
  Site again(config, **intake, clock, "0.1.0", std::move(links));
  ASSERT_TRUE(again.restore(snapshot));
  EXPECT_EQ(again.last_sequence(), sequence);
  ASSERT_EQ(again.findings(false)->size(), 1U);
  EXPECT_EQ(again.findings(false)->front().id, site->findings(false)->front().id);
  const auto before = site->zones(), after = again.zones();
  ASSERT_EQ(before.size(), after.size());
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_EQ(before[i].normal.runs, after[i].normal.runs);
    EXPECT_NEAR(before[i].normal.hold_amps, after[i].normal.hold_amps, 1e-9);
  }
}

// A broker sends again what it has no acknowledgement of: a killed daemon may have stored it already.
TEST_F(SiteTest, WhatWasStoredBeforeARestartAndIsDeliveredAgainIsADuplicate) {
  const std::string reading =
      fmt::format(R"([{{"n":"zone/3/current","u":"A","v":0.0005,"t":{}}}])", to_ms(clock.utc()) / 1000);
  say("zone/3/current", reading);
  site->troubles({{"broker", Severity::soon, {}}});
  for (int i = 0; i < 150; ++i) pass(seconds(1));
  site->commit();
  ASSERT_EQ(committed(&CommitUnit::outbox).size(), 1U);
  const Snapshot snapshot{units.back().snapshot, units.back().mark, clock.utc()};
  restart();
  ASSERT_TRUE(site->restore(snapshot));
  say("zone/3/current", reading);
  EXPECT_EQ(intake_->counters().duplicates, 1U);
  EXPECT_EQ(intake_->counters().stored, 0U);
  site->troubles({{"broker", Severity::soon, {}}});
  for (int i = 0; i < 600; ++i) pass(seconds(1));
  for (const auto& row : committed(&CommitUnit::outbox))
    EXPECT_THAT(row.json, testing::Not(HasSubstr("The broker"))) << "told before the restart";
}

TEST_F(SiteTest, ASnapshotOfSomethingElseIsRefusedAndTheSiteIsAsNew) {
  EXPECT_FALSE(site->restore({"{\"pipeline\": 5}", 7, clock.utc()}));
  EXPECT_EQ(site->last_sequence(), 7U);  // what the marks say still holds
  run(3, 0.232);
  EXPECT_EQ(committed(&CommitUnit::runs).size(), 1U);
}

TEST_F(SiteTest, WhatPeopleDoIsKept) {
  learn();
  run(4, 0.001);
  pass(minutes(1));
  const std::string id = site->findings(false)->front().id;
  ASSERT_TRUE(site->acknowledge(id, "Anna", kNever));
  ASSERT_TRUE(site->pause(clock.utc() + hours(2), PauseScope{}, "Ben", "at work"));
  pass(seconds(1));
  EXPECT_EQ(site->acknowledged_by(id), "Anna");
  EXPECT_EQ(committed(&CommitUnit::acknowledgements).size(), 1U);
  ASSERT_EQ(committed(&CommitUnit::pauses).size(), 1U);
  EXPECT_EQ(committed(&CommitUnit::pauses)[0].reason, "at work");
  EXPECT_FALSE(site->acknowledge("nothing", "Anna", kNever));
}

TEST_F(SiteTest, ATroubleOfTheInstallationIsTold) {
  site->troubles({{"disk", Severity::soon, {{"why", "disk full"}}}});
  for (int i = 0; i < 300; ++i) pass(seconds(1));
  const auto outbox = committed(&CommitUnit::outbox);
  ASSERT_EQ(outbox.size(), 1U);
  EXPECT_THAT(outbox[0].json, HasSubstr("Nothing can be recorded."));
}

TEST_F(SiteTest, AFloodIsCommittedBeforeItsTime) {
  for (int i = 0; i < 25'000; ++i) {
    clock.advance(Millis{1});
    say("zone/3/current", fmt::format("{:.6f}", 0.0005 + 1e-6 * (i % 100)));
    if (i % 500 == 0) site->tick();
  }
  site->tick();
  EXPECT_GE(committed(&CommitUnit::readings).size(), 20'000U);
}

}  // namespace
}  // namespace coilward
