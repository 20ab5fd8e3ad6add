#include "daemon/runs/work_on_site.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

UtcTime at_minute(double minutes) {
  return *parse_rfc3339("2026-05-04T06:00:00Z") + Millis{static_cast<std::int64_t>(minutes * 60'000)};
}

IdleEvent event_of(IdleKind kind, int zone, double minute) {
  return {kind,
          {ChannelKind::zone_current, static_cast<std::uint8_t>(zone)},
          at_minute(minute),
          at_minute(minute),
          0.2,
          kNotMeasured};
}

TEST(WorkOnSiteTest, CoversWhateverOverlapsIt) {
  WorkOnSite work;
  work.announce(4, at_minute(10), at_minute(70));
  EXPECT_FALSE(work.covers(4, at_minute(0), at_minute(9)));
  EXPECT_TRUE(work.covers(4, at_minute(0), at_minute(11))) << "it began before";
  EXPECT_TRUE(work.covers(4, at_minute(69), at_minute(90))) << "it ended after";
  EXPECT_FALSE(work.covers(4, at_minute(70), at_minute(90)));
  EXPECT_FALSE(work.covers(5, at_minute(20)));
  EXPECT_FALSE(work.covers(WorkOnSite::kEverything, at_minute(20))) << "the supply is everybody's";
}

TEST(WorkOnSiteTest, OnEverythingCoversEachZone) {
  WorkOnSite work;
  work.announce(WorkOnSite::kEverything, at_minute(10), at_minute(70));
  EXPECT_TRUE(work.covers(4, at_minute(20)));
  EXPECT_TRUE(work.covers(kMasterZone, at_minute(20)));
  EXPECT_TRUE(work.covers(WorkOnSite::kEverything, at_minute(20)));
}

TEST(WorkOnSiteTest, IsMadeLongerAndEndedEarly) {
  WorkOnSite work;
  work.announce(4, at_minute(10), at_minute(70));
  work.announce(4, at_minute(60), at_minute(120));
  EXPECT_TRUE(work.covers(4, at_minute(100)));
  work.announce(4, at_minute(80), at_minute(80));
  EXPECT_TRUE(work.covers(4, at_minute(79)));
  EXPECT_FALSE(work.covers(4, at_minute(81)));
}

// Whoever says that it is mended wants to see it proved.
TEST(WorkOnSiteTest, AMendedZoneIsWatchedAgain) {
  WorkOnSite work;
  work.announce(WorkOnSite::kEverything, at_minute(10), at_minute(120));
  work.mended(4, at_minute(50));
  EXPECT_TRUE(work.covers(4, at_minute(40)));
  EXPECT_FALSE(work.covers(4, at_minute(50)));
  EXPECT_TRUE(work.covers(5, at_minute(60)));
  work.announce(4, at_minute(200), at_minute(260));
  EXPECT_TRUE(work.covers(4, at_minute(210))) << "the next work is another one";
}

TEST(WorkOnSiteTest, WhatEndsMeanwhileIsNeverSaid) {
  WorkOnSite work;
  EXPECT_FALSE(work.put_by(event_of(IdleKind::stale, 4, 5))) << "nobody works there";
  work.announce(4, at_minute(10), at_minute(70));
  EXPECT_TRUE(work.put_by(event_of(IdleKind::uncommanded, 4, 20)));
  EXPECT_TRUE(work.put_by(event_of(IdleKind::stale, 4, 30)));
  EXPECT_FALSE(work.put_by(event_of(IdleKind::stale, 5, 30)));
  EXPECT_FALSE(work.put_by(event_of(IdleKind::uncommanded_over, 4, 40))) << "an end is always passed on";
  EXPECT_TRUE(work.due(at_minute(69)).empty());
  const auto due = work.due(at_minute(71));
  ASSERT_EQ(due.size(), 1u);
  EXPECT_EQ(due[0].kind, IdleKind::stale);
  EXPECT_EQ(due[0].since, at_minute(30));
  EXPECT_TRUE(work.due(at_minute(72)).empty()) << "once";
}

TEST(WorkOnSiteTest, GoesOnAfterARestart) {
  WorkOnSite work, other;
  work.announce(4, at_minute(10), at_minute(70));
  work.announce(5, at_minute(10), at_minute(70));
  work.mended(5, at_minute(20));
  work.put_by(event_of(IdleKind::stale, 4, 30));
  other.restore(work.save());
  EXPECT_EQ(other.save(), work.save());
  EXPECT_TRUE(other.covers(4, at_minute(40)));
  EXPECT_FALSE(other.covers(5, at_minute(40)));
  EXPECT_EQ(other.due(at_minute(80)).size(), 1u);
}

}  // namespace
}  // namespace coilward
