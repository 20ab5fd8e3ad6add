// Who hears what over days.
#include "daemon/alerts/routes_fixture.h"

namespace coilward {
namespace {

// A square wave of a day: on and off at each run.
TEST_F(RoutesTest, AFaultThatFlapsForADayIsAtMostThreeMessages) {
  without_carla();
  const Finding f = test_finding(4);
  for (int minute = 0; minute < 24 * 60; minute += 20) {
    Finding again = test_finding(4, Fault::open_circuit, at_hours(minute / 60.0));
    hear(again, at_hours(minute / 60.0));
    hear(ended(again, at_hours((minute + 10) / 60.0)), at_hours((minute + 10) / 60.0));
  }
  run_until(at_hours(24));
  EXPECT_LE(said_by("ben").size(), 3u);
  EXPECT_GE(said_by("ben").size(), 2u);
}

TEST_F(RoutesTest, SixteenZonesAtOnceAreOneMessage) {
  without_carla();
  for (int zone = 1; zone <= 16; ++zone) hear(test_finding(zone), at_seconds(zone / 4.0));
  run_until(at_hours(0.9));
  EXPECT_EQ(said_by("ben"), (RoutesList{"4 May 2026 00:12 MDT opened"}));
  EXPECT_EQ(messages.back()["findings"].size(), 16u);
}

constexpr const char* kTenDays = R"(4 May 2026 00:12 MDT ana opened
4 May 2026 00:12 MDT ben opened
4 May 2026 04:12 MDT carla opened
4 May 2026 06:00 MDT ben repeat
4 May 2026 06:12 MDT ben repeat
4 May 2026 06:12 MDT carla repeat
4 May 2026 08:00 MDT ana repeat
5 May 2026 00:12 MDT carla repeat
5 May 2026 06:00 MDT ben digest
5 May 2026 06:12 MDT carla opened
5 May 2026 08:00 MDT ana digest
5 May 2026 08:12 MDT ana repeat
5 May 2026 08:12 MDT ben repeat
5 May 2026 08:12 MDT carla repeat
6 May 2026 02:12 MDT carla repeat
6 May 2026 06:00 MDT ben repeat
6 May 2026 08:00 MDT ana repeat
6 May 2026 13:12 MDT ana closed
6 May 2026 13:12 MDT ben closed
6 May 2026 13:12 MDT carla closed
7 May 2026 02:12 MDT carla repeat
7 May 2026 06:00 MDT ben repeat
7 May 2026 08:00 MDT ana repeat
8 May 2026 02:12 MDT carla repeat
8 May 2026 06:00 MDT ben repeat
8 May 2026 08:00 MDT ana repeat
8 May 2026 12:12 MDT ana repeat
8 May 2026 12:12 MDT ben repeat
8 May 2026 12:12 MDT carla repeat
9 May 2026 02:12 MDT carla repeat
9 May 2026 06:00 MDT ben digest
9 May 2026 06:12 MDT ben installation
9 May 2026 08:00 MDT ana repeat
10 May 2026 02:12 MDT carla repeat
10 May 2026 06:00 MDT ben repeat
10 May 2026 06:12 MDT ben closed
10 May 2026 06:12 MDT carla closed
10 May 2026 08:00 MDT ana closed
)";

// Ten days of one household: a dead zone, a bad splice in the night, an answer, a visit, the broker away.
TEST_F(RoutesTest, TenDaysGiveExactlyTheseMessages) {
  ana().quiet = QuietHours{21 * 60, 8 * 60};
  ana().at_least = Severity::soon;
  ben().quiet = QuietHours{22 * 60, 6 * 60};
  carla();
  const Finding dead = test_finding(4);
  const Finding splice = with(test_finding(7, Fault::high_resistance, at_hours(26)), Severity::soon);
  hear(dead, test_start());
  hear(splice, at_hours(26));
  run_until(at_hours(30));
  ASSERT_TRUE(book.acknowledge(dead.id, "Ben", now));
  run_until(at_hours(58));
  ASSERT_TRUE(book.pause(at_hours(61), PauseScope::site(), "Ben", at_hours(58)));
  hear(test_finding(9, Fault::open_circuit, at_hours(59)), at_hours(59));
  hear(ended(test_finding(9, Fault::open_circuit, at_hours(59)), at_hours(60)), at_hours(60));
  hear(ended(dead, at_hours(60)), at_hours(60));
  run_until(at_hours(100));
  ASSERT_TRUE(book.acknowledge(splice.id, "Ben", now, at_hours(108)));
  notices.raise({"broker", Severity::soon, {{"why", "connection refused"}}}, at_hours(120));
  run_until(at_hours(126));
  notices.over("broker", now);
  hear(ended(splice, at_hours(150)), at_hours(150));
  run_until(at_hours(240));
  EXPECT_EQ(fmt::format("{}\n", fmt::join(said, "\n")), kTenDays);
}

}  // namespace
}  // namespace coilward
