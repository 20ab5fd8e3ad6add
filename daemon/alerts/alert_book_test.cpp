#include "daemon/alerts/alert_book.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "daemon/alerts/alert_test_site.h"

namespace coilward {
namespace {

struct BookTest : testing::Test {
  Config config = test_site();
  AlertBook book{config};
  std::vector<Alert> said;

  // Lets the book speak whenever it has something to say, until `end`, as a timer would.
  void run_until(UtcTime end) {
    for (UtcTime due = book.next_due(); due != kNever && due <= end; due = book.next_due())
      for (auto& alert : book.advance(due)) said.push_back(alert);
    EXPECT_TRUE(book.advance(end).empty());
  }
  void hear(const Finding& finding, UtcTime now) {
    run_until(now);
    book.finding(finding, now);
  }
  std::vector<std::string> kinds_and_minutes() const {
    std::vector<std::string> list;
    for (const auto& alert : said)
      list.push_back(fmt::format("{} {:.1f}", alert_kind_name(alert.kind),
                                 seconds_between(test_start(), alert.raised) / 3600));
    return list;
  }
};
using List = std::vector<std::string>;

TEST_F(BookTest, TenDaysGiveExactlyTheseMessages) {
  hear(test_finding(4), test_start());
  run_until(at_hours(24 * 10));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "repeat 1.0", "repeat 6.0", "repeat 24.0", "repeat 48.0",
                                       "repeat 72.0", "repeat 96.0", "repeat 120.0", "repeat 144.0",
                                       "repeat 168.0", "repeat 192.0", "repeat 216.0"}));
  EXPECT_EQ(said.front().id, "20260504-061209-z4-open_circuit.opened.1");
  EXPECT_EQ(said.back().id, "20260504-061209-z4-open_circuit.repeat.11");
}

TEST_F(BookTest, AnAcknowledgedFindingIsQuietUntilItEnds) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(2));
  EXPECT_TRUE(book.acknowledge(f.id, "anna", at_hours(2)));
  EXPECT_EQ(book.acknowledged_by(f.id), "anna");
  hear(ended(f, at_hours(50)), at_hours(50));
  run_until(at_hours(240));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "repeat 1.0", "closed 50.0"}));
  EXPECT_EQ(book.acknowledge(f.id, "anna", at_hours(241)).error().cause, Cause::not_found);
}

Finding with_repair(Finding f, std::optional<bool> proved) {
  RepairProof proof;
  proof.marked = f.opened;
  proof.proved = proved;
  f.repair = proof;
  return f;
}

TEST_F(BookTest, ARepairThatDidNotHoldIsNewsOnceForEachRepair) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.5));
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.5)));
  hear(with_repair(f, std::nullopt), at_hours(2));
  hear(with_repair(f, false), at_hours(3));
  run_until(at_hours(4));
  AlertBook other(config);
  ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
  book = std::move(other);
  hear(with_repair(f, false), at_hours(5));
  hear(with_repair(f, std::nullopt), at_hours(6));
  hear(with_repair(f, false), at_hours(7));
  hear(ended(with_repair(f, true), at_hours(9)), at_hours(9));
  run_until(at_hours(20));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "worse 3.0", "worse 7.0", "closed 9.0"}));
  EXPECT_TRUE(said[1].subject.find("Not repaired: ") != std::string::npos) << said[1].subject;
  EXPECT_TRUE(said[3].subject.find("Repaired: ") != std::string::npos) << said[3].subject;
}

TEST_F(BookTest, ASnoozeEndsByItselfAndTheStateIsSaid) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.5));
  EXPECT_EQ(book.acknowledge(f.id, "anna", at_hours(0.5), at_hours(0.4)).error().cause, Cause::bad_input);
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.5), at_hours(8.5)));
  EXPECT_EQ(book.acknowledged_until(f.id), at_hours(8.5));
  EXPECT_FALSE(book.unanswered(f.id));
  run_until(at_hours(2));
  AlertBook other(config);
  ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
  book = std::move(other);
  run_until(at_hours(30));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "repeat 8.5", "repeat 24.0"}));
  EXPECT_TRUE(book.unanswered(f.id));
  EXPECT_EQ(book.acknowledged_by(f.id), "");
  std::set<std::string> ids;
  for (const auto& alert : said) ids.insert(alert.id);
  EXPECT_EQ(ids.size(), said.size());
}

TEST_F(BookTest, AcknowledgedBeforeItWasToldIsNotTold) {
  config.alerts.hold_s = 600;
  const Finding f = test_finding(4);
  hear(f, test_start());
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_seconds(60)));
  run_until(at_hours(48));
  EXPECT_TRUE(said.empty());
}

TEST_F(BookTest, WhatEndsWithinTheHoldIsNeverTold) {
  config.alerts.hold_s = 600;
  const Finding f = test_finding(4);
  hear(f, test_start());
  hear(ended(f, at_seconds(599)), at_seconds(599));
  run_until(at_hours(48));
  EXPECT_TRUE(said.empty());
  EXPECT_EQ(book.next_due(), kNever);
}

TEST_F(BookTest, WhatOutlivesTheHoldIsToldAfterIt) {
  config.alerts.hold_s = 600;
  hear(test_finding(4), test_start());
  EXPECT_EQ(book.next_due(), at_seconds(610));
  run_until(at_seconds(609.9));
  EXPECT_TRUE(said.empty());
  run_until(at_seconds(610));
  EXPECT_EQ(said.size(), 1u);
}

TEST_F(BookTest, AnEndThatIsTakenBackWithinTheClearHoldIsNotTold) {
  config.alerts.clear_hold_s = 1800;
  const Finding f = test_finding(4);
  hear(f, test_start());
  hear(ended(f, at_seconds(100)), at_seconds(100));
  hear(test_finding(4, Fault::open_circuit, at_seconds(1000)), at_seconds(1000));
  run_until(at_seconds(3599));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0"}));
}

TEST_F(BookTest, SixteenZonesDeadByOneCauseAreOneMessage) {
  Finding f = test_finding(1, Fault::failed_common);
  f.zones = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16};
  hear(f, test_start());
  run_until(at_seconds(3599));
  ASSERT_EQ(said.size(), 1u);
  EXPECT_NE(said[0].subject.find("Zones 1 to 16"), std::string::npos) << said[0].subject;
}

TEST_F(BookTest, SixteenFindingsWithinTenSecondsAreOneMessageThatListsThemAll) {
  for (int zone = 1; zone <= 16; ++zone) hear(test_finding(zone), at_seconds(zone * 0.6));
  run_until(at_seconds(3599));
  ASSERT_EQ(said.size(), 1u);
  EXPECT_EQ(said[0].findings.size(), 16u);
  for (int zone = 1; zone <= 16; ++zone)
    EXPECT_NE(said[0].text.find(fmt::format("Zone {}", zone)), std::string::npos) << zone;
  EXPECT_NE(said[0].id, "20260504-061209-z1-open_circuit.opened.1") << "not the id of a message for one";
}

TEST_F(BookTest, TheGroupingDoesNotDependOnHowOftenTheBookIsAsked) {
  AlertBook lazy(config);
  for (int zone = 1; zone <= 5; ++zone) {
    hear(test_finding(zone), at_seconds(zone * 4));
    lazy.finding(test_finding(zone), at_seconds(zone * 4));
  }
  run_until(at_hours(0.5));
  const auto late = lazy.advance(at_hours(0.5));
  ASSERT_EQ(late.size(), said.size());
  for (std::size_t i = 0; i < late.size(); ++i) {
    EXPECT_EQ(late[i].id, said[i].id);
    EXPECT_EQ(late[i].text, said[i].text);
  }
}

TEST_F(BookTest, WorseIsToldAtOnceAndUndoesTheAcknowledgement) {
  Finding f = test_finding(4, Fault::high_resistance);
  f.severity = Severity::soon;
  hear(f, test_start());
  run_until(at_hours(0.5));
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.5)));
  f.severity = Severity::urgent;
  f.fault = Fault::open_circuit;
  hear(f, at_hours(3));
  run_until(at_hours(4.5));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "worse 3.0", "repeat 4.0"}));
  EXPECT_EQ(book.acknowledged_by(f.id), "");
  EXPECT_NE(said[1].subject.find("Worse: "), std::string::npos);
}

TEST_F(BookTest, AnotherNameIsToldOnceAndKeepsTheAcknowledgement) {
  Finding f = test_finding(4, Fault::open_circuit);
  hear(f, test_start());
  run_until(at_hours(0.1));
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.1)));
  for (int i = 0; i < 20; ++i) {
    f.fault = i % 2 == 0 ? Fault::plunger_not_seated : Fault::open_circuit;
    hear(f, at_hours(1 + i));
  }
  run_until(at_hours(100));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "worse 1.0"}));
}

TEST_F(BookTest, LessBadIsNoNews) {
  Finding f = test_finding(4);
  f.zones = {4, 5};
  hear(f, test_start());
  run_until(at_hours(0.1));
  f.zones = {4};
  f.severity = Severity::soon;
  hear(f, at_hours(0.2));
  f.zones = {4, 5};
  f.severity = Severity::urgent;
  hear(f, at_hours(0.3));
  run_until(at_hours(0.9));
  EXPECT_EQ(said.size(), 1u);
}

TEST_F(BookTest, TheEndIsToldWithTheHighestSeverityThatWasTold) {
  Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.1));
  f.severity = Severity::watch;
  hear(ended(f, at_hours(0.2)), at_hours(0.2));
  run_until(at_hours(0.5));
  ASSERT_EQ(said.size(), 2u);
  EXPECT_EQ(said[1].severity, Severity::urgent);
}

TEST_F(BookTest, TheHourlyLimitHoldsBackAllButWorse) {
  config.alerts.repeat_h = {0.01};
  config.alerts.max_per_hour = 6;
  Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.99));
  EXPECT_EQ(said.size(), 6u);
  f.zones = {4, 5};
  hear(f, at_hours(0.99));
  run_until(at_hours(0.991));
  EXPECT_EQ(said.size(), 7u);
}

// A finding that opens and closes for a day, in steps from two minutes to an hour.
TEST_F(BookTest, ASquareWaveOfADayIsAtMostThreeMessages) {
  for (double half_period_s : {60.0, 300.0, 900.0, 1800.0, 3599.0}) {
    book = AlertBook(config);
    said.clear();
    for (double t = 0; t < 86400; t += 2 * half_period_s) {
      const Finding f = test_finding(4, Fault::open_circuit, at_seconds(t));
      hear(f, at_seconds(t));
      hear(ended(f, at_seconds(t + half_period_s)), at_seconds(t + half_period_s));
    }
    run_until(at_hours(24));
    EXPECT_LE(said.size(), 3u) << half_period_s << ": "
                               << fmt::format("{}", fmt::join(kinds_and_minutes(), ", "));
    EXPECT_GE(said.size(), 2u);
    EXPECT_NE(said.back().text.find("Comes and goes"), std::string::npos);
  }
}

TEST_F(BookTest, TheSquareWaveReachesItsEndOnceAndOnlyOnce) {
  for (int i = 0; i < 24; ++i) {
    const Finding f = test_finding(4, Fault::open_circuit, at_hours(i));
    hear(f, at_hours(i));
    hear(ended(f, at_hours(i + 0.5)), at_hours(i + 0.5));
  }
  run_until(at_hours(24 * 12));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "closed 0.5", "opened 1.0", "closed 47.5"}));
  EXPECT_EQ(book.next_due(), kNever);
}

TEST_F(BookTest, TheQuietTimeGrowsWhileItKeepsComingAndGoing) {
  for (int i = 0; i < 24 * 20; ++i) {
    const Finding f = test_finding(4, Fault::open_circuit, at_hours(i));
    hear(f, at_hours(i));
    hear(ended(f, at_hours(i + 0.75)), at_hours(i + 0.75));
  }
  run_until(at_hours(24 * 20));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "closed 0.8", "opened 1.0", "repeat 25.0", "repeat 73.0",
                                       "repeat 169.0", "repeat 337.0"}));
}

TEST_F(BookTest, WorseBreaksIntoTheQuiet) {
  for (int i = 0; i < 5; ++i) {
    Finding f = test_finding(4, Fault::high_resistance, at_hours(i));
    f.severity = i == 4 ? Severity::urgent : Severity::soon;
    hear(f, at_hours(i));
    hear(ended(f, at_hours(i + 0.5)), at_hours(i + 0.5));
  }
  run_until(at_hours(6));
  EXPECT_EQ(kinds_and_minutes(), (List{"opened 0.0", "closed 0.5", "opened 1.0", "worse 4.0"}));
}

TEST_F(BookTest, AFindingThatComesBackUnderItsOwnIdHasANewAlertId) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  hear(ended(f, at_hours(0.1)), at_hours(0.1));
  hear(f, at_hours(0.2));
  run_until(at_hours(0.5));
  std::set<std::string> ids;
  for (const auto& alert : said) EXPECT_TRUE(ids.insert(alert.id).second) << alert.id;
  EXPECT_EQ(said.size(), 3u);
}

TEST_F(BookTest, FindingsThatTurnOutToBeOneCauseEndWithoutAWord) {
  for (int zone : {3, 4}) hear(test_finding(zone), at_hours(zone));
  run_until(at_hours(4.1));
  said.clear();
  Finding common = test_finding(3, Fault::failed_common, at_hours(4.5));
  common.zones = {3, 4, 5};
  hear(common, at_hours(4.5));
  for (int zone : {3, 4})
    hear(ended(test_finding(zone), at_hours(4.5), "one cause with " + common.id), at_hours(4.5));
  run_until(at_hours(5.4));
  ASSERT_EQ(said.size(), 1u);
  EXPECT_EQ(said[0].kind, AlertKind::opened);
}

TEST_F(BookTest, SilenceDoesNotClose) {
  hear(test_finding(4), test_start());
  run_until(at_hours(24 * 30));
  for (const auto& alert : said) EXPECT_NE(alert.kind, AlertKind::closed);
}

TEST_F(BookTest, ARunThatWasMissedMeanwhileIsSaidOnce) {
  hear(test_finding(4), test_start());
  run_until(at_seconds(20));
  const auto late = book.advance(at_hours(100));  // the process slept
  ASSERT_EQ(late.size(), 1u);
  EXPECT_EQ(late[0].kind, AlertKind::repeat);
  EXPECT_EQ(book.next_due(), at_seconds(120 * 3600 + 10));
}

TEST_F(BookTest, AFindingNobodyToldOfIsNotClosedAloud) {
  hear(ended(test_finding(4), at_hours(1)), at_hours(1));
  run_until(at_hours(48));
  EXPECT_TRUE(said.empty());
}

TEST_F(BookTest, ASavedBookGoesOnWithTheSameIds) {
  AlertBook other(config);
  for (int i = 0; i < 12; ++i) {
    Finding f = test_finding(4 + i % 2, Fault::open_circuit, at_hours(i));
    hear(f, at_hours(i));
    if (i % 3 == 0) hear(ended(f, at_hours(i + 0.5)), at_hours(i + 0.5));
    ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
    EXPECT_EQ(other.save(), book.save());
    EXPECT_EQ(other.next_due(), book.next_due());
  }
  const auto a = book.advance(at_hours(300)), b = other.advance(at_hours(300));
  ASSERT_EQ(a.size(), b.size());
  ASSERT_FALSE(a.empty());
  for (std::size_t i = 0; i < a.size(); ++i) EXPECT_EQ(a[i].id, b[i].id);
}

TEST_F(BookTest, ASavedBookOfAnotherShapeIsRefusedAndTheBookIsNew) {
  hear(test_finding(4), test_start());
  Json cut = book.save();
  cut["cases"][0]["case"].erase("seen");
  EXPECT_EQ(book.restore(cut).error().cause, Cause::bad_input);
  EXPECT_EQ(book.next_due(), kNever);
  EXPECT_FALSE(book.restore(Json::array()));
}

TEST_F(BookTest, CausesAreBoundedAndCounted) {
  for (int i = 0; i < 1100; ++i) {
    Finding f = test_finding(4, Fault::open_circuit, at_seconds(i * 0.001));
    f.id += std::to_string(i);
    book.finding(f, at_seconds(i * 0.001));
  }
  EXPECT_EQ(book.dropped(), 1100u - kMaxCauses);
  EXPECT_EQ(book.save()["cases"].size(), kMaxCauses);
}

}  // namespace
}  // namespace coilward
