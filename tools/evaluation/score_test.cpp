#include "tools/evaluation/score.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tools/evaluation/rule_of_thumb.h"
#include "tools/evaluation/tally.h"

namespace coilward::evaluate {
namespace {

UtcTime hour(double hours) {
  return *parse_rfc3339("2026-05-04T00:00:00Z") + Millis{std::llround(hours * 3.6e6)};
}

// Thirty days of three zones, each of which runs once a day: zone 1 at six, 2 a quarter later, and so on.
SiteRecord site() {
  SiteRecord record;
  record.zones = {1, 2, 3};
  record.offered.command = true;
  record.start = hour(0);
  record.end = hour(30 * 24);
  return record;
}

TrueFault fault(const SiteRecord& record, Fault kind, std::vector<int> zones, double from,
                double to = 30 * 24) {
  TrueFault it{kind, std::move(zones), hour(from), hour(to)};
  it.repaired = it.end < record.end;
  for (int day = 0; day < 30; ++day)
    for (const int zone : it.zones) {
      const UtcTime start = hour(day * 24 + 6 + zone * 0.25);
      if (start >= it.begin && start < it.end)
        it.runs.push_back({zone, start, start + std::chrono::minutes(10)});
    }
  return it;
}

Told told(double at, const char* id, Fault kind, std::vector<int> zones, double probability = 0.9) {
  Told it;
  it.at = hour(at);
  it.finding.id = id;
  it.finding.fault = kind;
  it.finding.zones = std::move(zones);
  it.finding.probability = probability;
  it.finding.opened = it.finding.updated = it.at;
  return it;
}

Told closed(Told it, double at) {
  it.at = it.finding.closed = hour(at);
  return it;
}

constexpr double kTenth = 10 * 24;                 // midnight before the tenth day's runs
constexpr double kZone2 = kTenth + 6.5 + 1 / 60.;  // a minute into zone 2's run

FaultScore only(SiteRecord record, TrueFault it, const std::vector<Told>& said) {
  record.faults = {std::move(it)};
  return score(record, said).faults.at(0);
}

TEST(Score, SaidInTheFirstRunIsRightAndTimely) {
  const SiteRecord record = site();
  const FaultScore it = only(record, fault(record, Fault::open_circuit, {2}, kTenth),
                             {told(kZone2, "a", Fault::open_circuit, {2})});
  EXPECT_EQ(it.outcome, Outcome::right);
  EXPECT_TRUE(it.timely);
  EXPECT_EQ(it.runs_until, 1u);
  EXPECT_NEAR(it.hours_until, 1 / 60., 1e-6);
}

TEST(Score, ADayLateIsRightButNotTimely) {
  const SiteRecord record = site();
  const FaultScore it = only(record, fault(record, Fault::open_circuit, {2}, kTenth),
                             {told(kZone2 + 24, "a", Fault::open_circuit, {2})});
  EXPECT_EQ(it.outcome, Outcome::right);
  EXPECT_FALSE(it.timely);
  EXPECT_EQ(it.runs_until, 2u);
}

TEST(Score, WithoutCommandTheSecondDarkTurnIsEarlyEnough) {
  SiteRecord record = site();
  record.offered.command = false;
  const TrueFault it = fault(record, Fault::open_circuit, {2}, kTenth);
  EXPECT_TRUE(only(record, it, {told(kZone2 + 24, "a", Fault::open_circuit, {2})}).timely);
  EXPECT_FALSE(only(record, it, {told(kZone2 + 48, "a", Fault::open_circuit, {2})}).timely);
}

TEST(Score, ACommonIsDueWithItsSecondZone) {
  const SiteRecord record = site();
  const TrueFault it = fault(record, Fault::failed_common, {2, 3}, kTenth);
  EXPECT_TRUE(only(record, it, {told(kZone2 + 0.25, "a", Fault::failed_common, {2, 3})}).timely);
  EXPECT_FALSE(only(record, it, {told(kZone2 + 24, "a", Fault::failed_common, {2, 3})}).timely);
}

TEST(Score, TheMastersOutputBelongsToACommonWithoutBeingAsked) {
  const SiteRecord record = site();
  const TrueFault common = fault(record, Fault::failed_common, {1, 2}, kTenth);
  EXPECT_EQ(only(record, common, {told(kZone2, "a", Fault::failed_common, {0, 1, 2})}).outcome,
            Outcome::right);
  const TrueFault open = fault(record, Fault::open_circuit, {2}, kTenth);
  EXPECT_EQ(only(record, open, {told(kZone2, "a", Fault::open_circuit, {0, 2})}).outcome,
            Outcome::wrong_zones);
}

TEST(Score, OneZoneBehindTheBreakIsThatZonesWire) {
  const SiteRecord record = site();
  const TrueFault it = fault(record, Fault::failed_common, {2}, kTenth);
  EXPECT_EQ(only(record, it, {told(kZone2, "a", Fault::open_circuit, {2})}).outcome, Outcome::right);
}

TEST(Score, TheSegmentIsHeldAgainstTheTruth) {
  const SiteRecord record = site();
  TrueFault it = fault(record, Fault::failed_common, {2, 3}, kTenth);
  it.from = "A", it.to = "B";
  Told said = told(kZone2, "a", Fault::failed_common, {2, 3});
  said.finding.where = {{"A", "B", 0.7}, {"B", "C", 0.2}};
  EXPECT_EQ(only(record, it, {said}).segment_right, true);
  std::swap(said.finding.where[0], said.finding.where[1]);
  EXPECT_EQ(only(record, it, {said}).segment_right, false);
}

TEST(Score, TheLastNameCounts) {
  const SiteRecord record = site();
  const TrueFault it = fault(record, Fault::shorted_coil, {2}, kTenth);
  const Told wrong = told(kZone2, "a", Fault::plunger_not_seated, {2}, 0.7);
  EXPECT_EQ(only(record, it, {wrong}).outcome, Outcome::misnamed);
  EXPECT_EQ(only(record, it, {wrong}).named, Fault::plunger_not_seated);
  EXPECT_EQ(only(record, it, {wrong, told(kZone2 + 24, "a", Fault::shorted_coil, {2})}).outcome,
            Outcome::right);
  EXPECT_EQ(only(record, it, {told(kZone2, "a", Fault::shorted_coil, {2, 3})}).outcome, Outcome::wrong_zones);
  EXPECT_EQ(only(record, it, {}).outcome, Outcome::missed);
}

TEST(Score, ClosedWhileItLastsIsWithdrawnUnlessItComesAndGoes) {
  const SiteRecord record = site();
  TrueFault it = fault(record, Fault::open_circuit, {2}, kTenth);
  const Told said = told(kZone2, "a", Fault::open_circuit, {2});
  EXPECT_EQ(only(record, it, {said, closed(said, kZone2 + 24)}).outcome, Outcome::withdrawn);
  it.comes_and_goes = true;
  EXPECT_EQ(only(record, it, {said, closed(said, kZone2 + 24)}).outcome, Outcome::right);
}

TEST(Score, AFaultThatHealsIsJudgedWhenItDoes) {
  SiteRecord record = site();
  record.faults = {fault(record, Fault::open_circuit, {2}, kTenth, kTenth + 72)};
  const Told said = told(kZone2, "a", Fault::open_circuit, {2});
  const SiteScore healed = score(record, {said, closed(said, kZone2 + 72)});
  EXPECT_EQ(healed.faults[0].outcome, Outcome::right);
  EXPECT_TRUE(healed.false_findings.empty());
  // After the repair and its aftermath nothing explains a new one.
  const SiteScore again =
      score(record, {said, closed(said, kZone2 + 72), told(kZone2 + 300, "b", Fault::open_circuit, {2})});
  EXPECT_EQ(again.false_findings, std::vector<std::size_t>{2});
}

TEST(Score, TwoFaultsDoNotTakeEachOthersFindings) {
  SiteRecord record = site();
  record.faults = {fault(record, Fault::supply_low, {1, 2, 3}, kTenth),
                   fault(record, Fault::open_circuit, {2}, kTenth)};
  const SiteScore one = score(record, {told(kZone2, "a", Fault::open_circuit, {2})});
  EXPECT_EQ(one.faults[0].outcome, Outcome::missed);  // not misnamed: the finding is the other's
  EXPECT_EQ(one.faults[1].outcome, Outcome::right);
  EXPECT_TRUE(one.false_findings.empty());
}

TEST(Score, WhatNeverRanIsNotCounted) {
  const SiteRecord record = site();
  TrueFault it = fault(record, Fault::open_circuit, {2}, kTenth);
  it.runs.clear();
  EXPECT_EQ(only(record, it, {}).outcome, Outcome::not_counted);
}

// All its runs lie where there were no volts; one before would have shown it.
TEST(Score, WhatLiesBeneathALostSupplyIsNotCounted) {
  SiteRecord record = site();
  record.faults = {fault(record, Fault::supply_lost, {1, 2, 3}, kTenth),
                   fault(record, Fault::open_circuit, {2}, kTenth)};
  EXPECT_EQ(score(record, {}).faults[1].outcome, Outcome::not_counted);
  record.faults[0].begin = record.faults[1].runs[0].end;
  EXPECT_EQ(score(record, {}).faults[1].outcome, Outcome::missed);
}

TEST(Score, GrowingOhmsAreMissedOnlyWhenTheyMatter) {
  SiteRecord record = site();
  TrueFault it = fault(record, Fault::high_resistance, {2}, kTenth);
  for (std::size_t i = 0; i < it.runs.size(); ++i)
    it.runs[i].ohms = 1 + 0.6 * static_cast<double>(i);  // to 12.4
  EXPECT_EQ(only(record, it, {}).outcome, Outcome::not_counted);
  record.offered.burst = true;
  EXPECT_EQ(only(record, it, {}).outcome, Outcome::missed);
  const FaultScore said = only(record, it, {told(kZone2 + 48, "a", Fault::high_resistance, {2})});
  EXPECT_EQ(said.outcome, Outcome::right);
  EXPECT_NEAR(said.ohms_said, 2.2, 1e-9);
}

TEST(Score, StuckOnNeedsNoRun) {
  const SiteRecord record = site();
  const TrueFault it = fault(record, Fault::stuck_on, {2}, kTenth + 8, kTenth + 12);
  ASSERT_TRUE(it.runs.empty());
  EXPECT_TRUE(only(record, it, {told(kTenth + 8.2, "a", Fault::stuck_on, {2})}).timely);
  EXPECT_EQ(only(record, it, {}).outcome, Outcome::missed);
}

TEST(Score, MissedRunAndSensorFaultAreTruthsLikeOthers) {
  const SiteRecord record = site();
  EXPECT_EQ(
      only(record, fault(record, Fault::missed_run, {2}, kTenth), {told(kZone2, "a", Fault::missed_run, {2})})
          .outcome,
      Outcome::right);
  EXPECT_EQ(only(record, fault(record, Fault::sensor_fault, {2}, kTenth),
                 {told(kZone2, "a", Fault::missed_run, {2})})
                .outcome,
            Outcome::misnamed);
}

TEST(Score, ForecastsAndUnexplainedDays) {
  SiteRecord record = site();
  record.faults = {fault(record, Fault::open_circuit, {2}, kTenth)};
  const SiteScore it = score(record, {told(kZone2, "a", Fault::high_resistance, {2}, 0.6),
                                      told(kZone2 + 1, "a", Fault::open_circuit, {2}, 0.8),
                                      told(kZone2 + 2, "b", Fault::shorted_coil, {3}, 0.7)});
  ASSERT_EQ(it.first.size(), 2u);
  EXPECT_FALSE(it.first[0].right);
  EXPECT_TRUE(it.last[0].right);
  EXPECT_DOUBLE_EQ(it.last[0].probability, 0.8);
  EXPECT_EQ(it.false_findings, std::vector<std::size_t>{2});
  EXPECT_DOUBLE_EQ(it.unexplained_zone_days, 30 + 10 + 30);
}

TEST(Tally, PrintsWhatItCounted) {
  EXPECT_EQ(quantile({3, 1, 2}, 0.5), 2);
  EXPECT_EQ(quantile({3, 1, 2}, 0.95), 3);
  EXPECT_FALSE(measured(quantile({}, 0.5)));
  const std::string text = reliability("as said", {{0.9, true}, {0.9, false}});
  EXPECT_NE(text.find("Brier score 0.4100"), std::string::npos) << text;
  EXPECT_NE(text.find("said 0.900  came true 0.500"), std::string::npos) << text;
}

class Thumb : public ::testing::Test {
 protected:
  void run(int zone, double amps) {
    coilward::Run it;
    it.zone = zone;
    it.hold_amps = amps;
    thumb.run(it, hour(at++));
  }
  void learn(int zone) {
    for (int i = 0; i < 5; ++i) run(zone, 0.25);
  }
  RuleOfThumb thumb;
  int at = 0;
};

TEST_F(Thumb, SaysWhatIsTwentyPerCentOff) {
  learn(1);
  run(1, 0.19);
  run(1, 0.31);
  run(1, 0.25);
  const auto said = thumb.take();
  ASSERT_EQ(said.size(), 3u);
  EXPECT_EQ(said[0].finding.fault, Fault::high_resistance);
  EXPECT_EQ(said[1].finding.fault, Fault::shorted_coil);
  EXPECT_FALSE(said[2].finding.is_open());
}

TEST_F(Thumb, TwoDeadZonesAreACommon) {
  learn(1), learn(2);
  run(1, 0), run(2, 0);
  const auto said = thumb.take();
  ASSERT_EQ(said.size(), 3u);
  EXPECT_EQ(said[0].finding.fault, Fault::open_circuit);
  EXPECT_EQ(said[2].finding.fault, Fault::failed_common);
  EXPECT_EQ(said[2].finding.zones, (std::vector<int>{1, 2}));
}

}  // namespace
}  // namespace coilward::evaluate
