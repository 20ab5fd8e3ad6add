#include <set>

#include "daemon/alerts/alert_book_fixture.h"

namespace coilward {
namespace {

TEST_F(BookTest, TenDaysGiveExactlyTheseMessages) {
  hear(test_finding(4), test_start());
  run_until(at_hours(24 * 10));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "repeat 1.0", "repeat 6.0", "repeat 24.0",
                                           "repeat 48.0", "repeat 72.0", "repeat 96.0", "repeat 120.0",
                                           "repeat 144.0", "repeat 168.0", "repeat 192.0", "repeat 216.0"}));
  EXPECT_EQ(said.front().id, "20260504-061209-z4-open_circuit.opened.1");
  EXPECT_EQ(said.back().id, "20260504-061209-z4-open_circuit.repeat.11");
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
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0"}));
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

TEST_F(BookTest, WhoWantsEachFindingAtOnceGetsItAlone) {
  config.alerts.group_s = 0;
  for (int zone = 1; zone <= 3; ++zone) hear(test_finding(zone), at_seconds(zone));
  run_until(at_seconds(4));
  ASSERT_EQ(said.size(), 3u);
  EXPECT_EQ(said[0].raised, at_seconds(1));
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
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "worse 3.0", "repeat 4.0"}));
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
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "worse 1.0"}));
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
