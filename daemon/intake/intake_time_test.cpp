// Time, the broker's store, and messages delivered twice.
#include "daemon/intake/intake_fixture.h"
#include "daemon/intake/reading_time.h"

namespace coilward {
namespace {

std::string timed(std::string_view time, double value = 0.231) {
  return fmt::format(R"({{"value":{},"time":"{}"}})", value, time);
}

TEST(IntakeTime, AbsoluteTimesAreKeptWithinReason) {
  IntakeSite site;  // it is 2026-05-04T06:12:09Z
  const auto time_of = [&](std::string_view text) {
    return site.measure("zone/4/current", timed(text)).at(0).time;
  };
  for (const char* good :
       {"2026-05-04T06:12:09Z", "2026-05-04T07:12:09Z", "2025-04-01T00:00:00Z", "2026-05-01T12:00:00.250Z"})
    EXPECT_EQ(time_of(good), at(good)) << good;
  for (const char* ahead :
       {"2026-05-04T07:12:09.001Z", "2026-05-04T13:12:09Z", "2106-02-07T06:28:16Z", "9999-12-31T23:59:59Z"})
    EXPECT_EQ(time_of(ahead), site.now) << ahead;
  for (const char* behind : {"1970-01-01T00:00:00Z", "2019-12-31T23:59:59Z", "2025-03-01T00:00:00Z"})
    EXPECT_EQ(time_of(behind), site.now) << behind;
  EXPECT_EQ(site.intake().counters().time_ahead, 4u);
  EXPECT_EQ(site.intake().counters().time_behind, 3u);
  EXPECT_EQ(site.intake().recent_rejects().size(), 7u);
  EXPECT_EQ(site.intake().recent_rejects()[0].claimed_time, "2025-03-01T00:00:00.000Z");
  EXPECT_EQ(site.intake().recent_rejects()[0].reason, "time_behind");
  EXPECT_EQ(site.intake().counters().stored, 11u);
  site.expect_laws();
}

TEST(IntakeTime, AnArrivalWithoutAClockMakesReadingsUnsure) {
  IntakeSite site;
  site.now = at("1970-01-01T00:00:30Z");
  const auto plain = site.measure("zone/4/current", "0.2");
  EXPECT_TRUE(plain.at(0).time_unsure);
  EXPECT_EQ(plain.at(0).time, site.now);
  const auto own = site.measure("zone/4/current", timed("2026-05-04T06:12:09Z"));
  EXPECT_EQ(own.at(0).time, at("2026-05-04T06:12:09Z"));
  EXPECT_TRUE(own.at(0).time_unsure);
  EXPECT_EQ(site.measure("zone/4/current", timed("2150-01-01T00:00:00Z")).at(0).time, site.now);
  site.now = at("2026-05-04T06:12:09Z");
  const std::string topic = "coilward/juniper-row-12/measure/zone/4/current";
  EXPECT_TRUE(site.send({.topic = topic, .payload = "0.2", .time_unsure = true}).at(0).time_unsure);
  EXPECT_FALSE(site.send({.topic = topic, .payload = "0.2"}).at(0).time_unsure);
  EXPECT_EQ(site.intake().counters().time_unsure, 4u);
}

TEST(IntakeTime, AnyTimeOfAnyDeviceStaysNearOrIsReplaced) {
  for (const std::int64_t us : {std::int64_t{0}, INT64_MAX, INT64_MIN, std::int64_t{1}, std::int64_t{-1},
                                std::int64_t{1777875129000000}, std::int64_t{4000000000000000}})
    for (const char* arrival : {"2026-05-04T06:12:09Z", "1970-01-01T00:00:01Z"})
      for (int kind : {COILWARD_TIME_NONE, COILWARD_TIME_ABSOLUTE, COILWARD_TIME_RELATIVE}) {
        const auto time = reading_time({.arrival = at(arrival)}, kind, us);
        const bool near = time.time <= at(arrival) + kMostAhead && time.time >= at(arrival) - kMostBehind;
        EXPECT_TRUE(near || (time.own && time.unsure && time.time >= kEarliest && time.time < kLatest))
            << us << kind;
      }
  EXPECT_EQ(reading_time({}, COILWARD_TIME_NONE, 0).time, UtcTime{});  // an arrival that was never set
}

TEST(IntakeRetained, IsNotAFreshReading) {
  IntakeSite site;
  const std::string topic = "coilward/juniper-row-12/measure/zone/4/current";
  const auto retained = [&](const std::string& payload) {
    return site.send({.topic = topic, .payload = payload, .retained = true}).size();
  };
  EXPECT_EQ(retained("0.231"), 0u);
  EXPECT_EQ(retained(timed("2026-05-04T05:00:00Z")), 0u) << "from before: it would begin a run that is over";
  EXPECT_EQ(retained(R"([{"n":"zone/4/current","t":-1,"v":0.2}])"), 0u);
  EXPECT_EQ(retained(timed("2026-05-04T06:00:00Z")), 1u);  // says itself when it was
  EXPECT_EQ(retained(timed("2026-05-04T06:00:00Z")), 0u);
  EXPECT_EQ(retained(timed("2026-05-04T05:59:59Z")), 0u);
  EXPECT_EQ(retained(timed("2026-05-04T06:00:01Z")), 1u);
  EXPECT_EQ(retained(timed("2099-05-04T06:00:01Z")), 0u);  // a time that is not believed
  EXPECT_EQ(retained("5000"), 0u);
  EXPECT_TRUE(site.intake().implausible_in_last_message().empty());
  EXPECT_EQ(site.rejected(Reject::retained), 7u);
  site.expect_laws();
}

TEST(IntakeRetained, StaysKnownOverARestart) {
  IntakeSite before, after;
  before.measure("zone/4/current", timed("2026-05-04T06:00:00Z"));
  ASSERT_TRUE(after.intake().restore(Json::parse(before.intake().save().dump())));
  const std::string topic = "coilward/juniper-row-12/measure/zone/4/current";
  EXPECT_TRUE(
      after.send({.topic = topic, .payload = timed("2026-05-04T06:00:00Z"), .retained = true}).empty());
  EXPECT_FALSE(after.intake().restore(Json::object()));
  EXPECT_FALSE(after.intake().restore({{"version", 1}, {"repetition", 5}}));
  EXPECT_TRUE(
      after.send({.topic = topic, .payload = timed("2026-05-04T06:00:00Z"), .retained = true}).empty());
}

TEST(IntakeDuplicates, OwnTimeTellsThem) {
  IntakeSite site;
  EXPECT_EQ(site.measure("zone/4/current", timed("2026-05-04T06:00:00Z")).size(), 1u);
  EXPECT_EQ(site.measure("zone/4/current", timed("2026-05-04T06:00:00Z")).size(), 0u);
  EXPECT_EQ(site.measure("zone/4/current", timed("2026-05-04T06:00:00Z", 0.232)).size(), 1u);
  EXPECT_EQ(site.measure("zone/1/current", timed("2026-05-04T06:00:00Z")).size(), 1u);
  EXPECT_EQ(site.intake().counters().duplicates, 1u);
  site.expect_laws();
}

TEST(IntakeDuplicates, WithoutOwnTimeTheFlagAndThePayloadTellThem) {
  IntakeSite site;
  const std::string topic = "coilward/juniper-row-12/measure/zone/4/current";
  const auto send = [&](const std::string& payload, bool flag) {
    return site.send({.topic = topic, .payload = payload, .duplicate = flag}).size();
  };
  EXPECT_EQ(send("0.231", true), 1u);   // the first was lost on its way
  EXPECT_EQ(send("0.231", false), 1u);  // a level that stays is no duplicate
  EXPECT_EQ(send("0.231", true), 0u);
  EXPECT_EQ(send("0.232", true), 1u);
  site.now += std::chrono::seconds{61};
  EXPECT_EQ(send("0.231", true), 1u);
  site.now += std::chrono::seconds{60};
  EXPECT_EQ(send("0.231", true), 0u);
  EXPECT_EQ(site.intake().counters().duplicates, 2u);
  site.expect_laws();
}

TEST(IntakeDuplicates, AreKnownForAMinuteOverARestart) {
  IntakeSite before, after;
  const std::string topic = "coilward/juniper-row-12/measure/zone/4/current";
  before.send({.topic = topic, .payload = "0.1"});
  before.now += std::chrono::seconds{100};
  before.send({.topic = topic, .payload = "0.231"});
  before.measure("zone/1/current", timed("2026-05-04T06:00:00Z"));
  ASSERT_TRUE(after.intake().restore(Json::parse(before.intake().save().dump())));
  after.now = before.now;
  EXPECT_TRUE(after.send({.topic = topic, .payload = "0.231", .duplicate = true}).empty());
  EXPECT_TRUE(after.measure("zone/1/current", timed("2026-05-04T06:00:00Z")).empty());
  EXPECT_EQ(after.intake().counters().duplicates, 2u);
}

}  // namespace
}  // namespace coilward
