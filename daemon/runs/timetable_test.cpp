#include "daemon/runs/timetable.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Zones one after another, ten minutes each, ten seconds between.
struct Programme {
  Timetable table;
  UtcTime now = *parse_rfc3339("2026-05-04T05:00:00Z");
  std::vector<TurnMissed> missed;

  void take(const std::vector<TurnMissed>& turns) { missed.insert(missed.end(), turns.begin(), turns.end()); }
  void run(int zone, int minutes = 10) {
    take(table.started(zone, now));
    const UtcTime start = now;
    now += std::chrono::minutes(minutes);
    table.finished(zone, start, now);
    now += std::chrono::seconds(10);
  }
  // Nothing draws for the time of one zone.
  void leave_time(int minutes = 10) {
    now += std::chrono::minutes(minutes) + std::chrono::seconds(10);
    take(table.advance(now));
  }
  void next_day() {
    for (int i = 0; i < 60; ++i) take(table.advance(now + std::chrono::minutes(i)));
    now = std::chrono::floor<std::chrono::days>(now) + std::chrono::hours(29);
  }
  void usual_days(int days, const std::vector<int>& zones = {1, 2, 3, 4}) {
    for (int day = 0; day < days; ++day, next_day())
      for (int zone : zones) run(zone);
  }
};

// Zones 2 and 3 share the second turn; which of them is heard first changes from day to day.
struct SharedTurn : Programme {
  void day(int number, const std::vector<int>& second) {
    run(1);
    for (std::size_t i = 0; i < second.size(); ++i)
      take(table.started(second[number % 2 == 0 ? i : second.size() - 1 - i], now));
    const UtcTime start = now;
    if (!second.empty()) now += std::chrono::minutes(10);
    for (int zone : second) take(table.finished(zone, start, now));
    second.empty() ? leave_time() : void(now += std::chrono::seconds(10));
    run(4);
    next_day();
  }
  void days(int count) {
    for (int i = 0; i < count; ++i) day(i, {2, 3});
  }
};

TEST(Timetable, OneOfASharedTurnIsMissedBesideTheOther) {
  for (int absent : {2, 3}) {
    SharedTurn p;
    p.days(8);
    ASSERT_TRUE(p.missed.empty());
    p.day(8, {5 - absent});
    ASSERT_EQ(p.missed.size(), 1U);
    EXPECT_EQ(p.missed[0].zone, absent);
    EXPECT_TRUE(p.missed[0].beside);
    EXPECT_FALSE(p.missed[0].again);
    p.day(9, {5 - absent});
    ASSERT_EQ(p.missed.size(), 2U);
    EXPECT_TRUE(p.missed[1].again);
  }
}

// Every end is heard after the next turn has begun, the one that began second ends first, and the beginnings
// turn out to have been a little earlier.
TEST(Timetable, ASharedTurnMayBeginBeforeTheEndIsKnown) {
  const std::vector<std::vector<int>> turns = {{1}, {2, 3}, {4}, {5}};
  SharedTurn p;
  for (int day = 0; day < 8; ++day, p.next_day())
    for (std::size_t i = 0; i <= turns.size(); ++i, p.now += std::chrono::minutes(10)) {
      if (i < turns.size())
        for (int zone : turns[i]) p.take(p.table.started(zone, p.now));
      if (i == 0) continue;
      const auto start = p.now - std::chrono::minutes(10) - std::chrono::milliseconds(60);
      for (auto zone = turns[i - 1].rbegin(); zone != turns[i - 1].rend(); ++zone)
        p.take(p.table.finished(*zone, start, p.now + std::chrono::milliseconds(500)));
    }
  EXPECT_TRUE(p.missed.empty()) << p.missed.size() << " missed";
  EXPECT_EQ(p.table.save().at("waiting").size(), 0u);
}

TEST(Timetable, ASharedTurnLeavesOneGap) {
  SharedTurn p;
  p.days(12);
  p.day(12, {});
  ASSERT_EQ(p.missed.size(), 2U);
  EXPECT_EQ(p.missed[0].zone + p.missed[1].zone, 5);
  EXPECT_TRUE(p.missed[0].gap_seen && p.missed[1].gap_seen);
}

TEST(Timetable, ZonesThatPartAreNotMissed) {
  SharedTurn p;
  p.days(8);
  for (int day = 0; day < 3; ++day, p.next_day())
    for (int zone : {1, 2, 3, 4}) p.run(zone);
  EXPECT_TRUE(p.missed.empty());
}

TEST(Timetable, ZoneThatLeavesItsTimeIsMissed) {
  Programme p;
  p.usual_days(6);
  ASSERT_TRUE(p.missed.empty());
  p.run(1);
  p.leave_time();
  p.run(3);
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 2);
  EXPECT_TRUE(p.missed[0].gap_seen);
}

// Zones that follow at once begin before the end of the one before is sure.
TEST(Timetable, NextOneMayBeginBeforeTheEndIsKnown) {
  Programme p;
  const auto cycle = [&](const std::vector<int>& zones) {
    UtcTime at = p.now;
    int before = 0;
    UtcTime before_start = kNever, before_end = kNever;
    for (int zone : zones) {
      if (zone != 0) {
        p.take(p.table.started(zone, at));
        if (before != 0) p.take(p.table.finished(before, before_start, before_end));
        before = zone, before_start = at, before_end = at + std::chrono::minutes(10);
      }
      at += std::chrono::minutes(10);
    }
    p.take(p.table.finished(before, before_start, before_end));
    p.now = at;
    p.next_day();
  };
  for (int day = 0; day < 6; ++day) cycle({1, 2, 3, 4});
  EXPECT_TRUE(p.missed.empty());
  cycle({1, 0, 3, 4});
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 2);
}

TEST(Timetable, TwoInARowAreBothMissed) {
  Programme p;
  p.usual_days(6);
  p.run(1);
  p.leave_time();
  p.leave_time();
  p.run(4);
  ASSERT_EQ(p.missed.size(), 2U);
  EXPECT_EQ(p.missed[0].zone, 2);
  EXPECT_EQ(p.missed[1].zone, 3);
}

TEST(Timetable, LastZoneOfTheCycleIsMissedByTime) {
  Programme p;
  p.usual_days(6);
  p.run(1), p.run(2), p.run(3);
  p.leave_time(13);
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 4);
  EXPECT_FALSE(p.missed[0].gap_seen);
}

// Nothing runs before it in its cycle: the others start as late as if it had begun at its time of day.
// What lies beyond a broken common is often watered last.
TEST(Timetable, LastTwoOfTheCycleAreMissedInTheSecondOne) {
  Programme p;
  p.usual_days(6);
  p.usual_days(1, {1, 2});
  EXPECT_TRUE(p.missed.empty());
  p.usual_days(1, {1, 2});
  ASSERT_EQ(p.missed.size(), 2U);
  EXPECT_EQ(p.missed[0].zone, 3);
  EXPECT_EQ(p.missed[1].zone, 4);
  EXPECT_FALSE(p.missed[0].gap_seen);
  EXPECT_NEAR(seconds_between(p.missed[0].start, p.missed[1].start), 610, 2);
}

TEST(Timetable, ACycleCutShortOnceIsNoFault) {
  Programme p;
  p.usual_days(6);
  for (int i = 0; i < 4; ++i) {
    p.usual_days(1, {1, 2});
    p.usual_days(1);
  }
  EXPECT_TRUE(p.missed.empty());
}

TEST(Timetable, FirstZoneOfTheCycleIsMissedByTheTimeOfDay) {
  Programme p;
  p.usual_days(6);
  for (int day = 0; day < 2; ++day, p.next_day()) {
    p.leave_time();
    for (int zone : {2, 3, 4}) p.run(zone);
  }
  ASSERT_EQ(p.missed.size(), 2U);
  EXPECT_EQ(p.missed[0].zone, 1);
  EXPECT_TRUE(p.missed[0].gap_seen);
  EXPECT_EQ(p.missed[0].start, *parse_rfc3339("2026-05-10T05:00:00Z"));
  p.leave_time();
  p.leave_time();
  p.run(3);
  ASSERT_EQ(p.missed.size(), 4U);
  EXPECT_EQ(p.missed[3].zone, 2);
}

TEST(Timetable, FirstZoneThatLeavesNoTimeIsNotMissedByIt) {
  Programme p;
  p.usual_days(6);
  p.usual_days(1, {2, 3, 4});
  EXPECT_TRUE(p.missed.empty());
}

// Its place is taken by the next one at once: told when it happens again, for the first, a middle and the
// last zone of a cycle.
TEST(Timetable, ZoneSkippedTwiceIsTold) {
  for (int missing : {1, 3, 4}) {
    Programme p;
    p.usual_days(6);
    std::vector<int> rest = {1, 2, 3, 4};
    std::erase(rest, missing);
    p.usual_days(1, rest);
    const auto skips = [&] {
      return std::count_if(p.missed.begin(), p.missed.end(),
                           [&](const TurnMissed& turn) { return turn.skipped; });
    };
    EXPECT_EQ(skips(), 0) << missing;
    p.usual_days(1, rest);
    EXPECT_EQ(skips(), 1) << missing;
    EXPECT_EQ(p.missed.back().zone, missing);
    p.usual_days(3, rest);
    EXPECT_EQ(skips(), 1) << missing;
  }
}

TEST(Timetable, ChangedOrderSkipsNobody) {
  Programme p;
  p.usual_days(6);
  p.usual_days(4, {2, 1, 4, 3});
  EXPECT_TRUE(p.missed.empty());
}

TEST(Timetable, RainDelayIsNoFault) {
  Programme p;
  p.usual_days(6);
  for (int day = 0; day < 5; ++day) p.next_day();
  p.usual_days(3);
  EXPECT_TRUE(p.missed.empty());
}

// Taken out of the programme, by hand or by mistake: the next one starts at once. Told once, and then usual.
TEST(Timetable, ZoneTakenOutLeavesNoTime) {
  Programme p;
  p.usual_days(6);
  p.usual_days(12, {1, 3, 4});
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_TRUE(p.missed[0].skipped);
  EXPECT_FALSE(p.missed[0].gap_seen);
}

TEST(Timetable, ChangedOrderIsFollowed) {
  Programme p;
  p.usual_days(6);
  p.usual_days(10, {2, 1, 4, 3});
  EXPECT_TRUE(p.missed.empty());
  p.run(2);
  p.leave_time();
  p.run(4);
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 1);
}

// Three cycles of a programme set anew are enough, however long the old one ran.
TEST(Timetable, LastZoneOfANewOrderIsMissed) {
  Programme p;
  p.usual_days(8);
  p.usual_days(3, {1, 4, 2, 3});
  EXPECT_TRUE(p.missed.empty());
  p.usual_days(1, {1, 4, 2});
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 3);
}

TEST(Timetable, ZoneLeftOutOfANewOrderIsToldOnce) {
  Programme p;
  p.usual_days(8);
  p.usual_days(12, {4, 1, 3});
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 2);
  EXPECT_TRUE(p.missed[0].skipped);
}

TEST(Timetable, NothingIsExpectedBeforeItIsLearned) {
  Programme p;
  p.usual_days(2);
  p.run(1);
  p.leave_time();
  p.run(3);
  EXPECT_TRUE(p.missed.empty());
}

// Every third day, three cycles are more than a week.
TEST(Timetable, ThreeCyclesAreEnough) {
  Programme p;
  p.usual_days(3);
  p.run(1);
  p.leave_time();
  p.run(3);
  ASSERT_EQ(p.missed.size(), 1U);
  EXPECT_EQ(p.missed[0].zone, 2);
}

TEST(Timetable, GoesOnFromWhatItSaved) {
  Programme p, other;
  p.usual_days(6);
  other.table.restore(p.table.save());
  other.now = p.now;
  other.run(1);
  other.leave_time();
  other.run(3);
  EXPECT_EQ(other.missed.size(), 1U);
}

}  // namespace
}  // namespace coilward
