// What comes and goes is no storm of messages.
#include "daemon/alerts/alert_book_fixture.h"

namespace coilward {
namespace {

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
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "closed 0.5", "opened 1.0", "closed 47.5"}));
  EXPECT_EQ(book.next_due(), kNever);
}

TEST_F(BookTest, TheQuietTimeGrowsWhileItKeepsComingAndGoing) {
  for (int i = 0; i < 24 * 20; ++i) {
    const Finding f = test_finding(4, Fault::open_circuit, at_hours(i));
    hear(f, at_hours(i));
    hear(ended(f, at_hours(i + 0.75)), at_hours(i + 0.75));
  }
  run_until(at_hours(24 * 20));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "closed 0.8", "opened 1.0", "repeat 25.0",
                                           "repeat 73.0", "repeat 169.0", "repeat 337.0"}));
}

TEST_F(BookTest, WorseBreaksIntoTheQuiet) {
  for (int i = 0; i < 5; ++i) {
    Finding f = test_finding(4, Fault::high_resistance, at_hours(i));
    f.severity = i == 4 ? Severity::urgent : Severity::soon;
    hear(f, at_hours(i));
    hear(ended(f, at_hours(i + 0.5)), at_hours(i + 0.5));
  }
  run_until(at_hours(6));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "closed 0.5", "opened 1.0", "worse 4.0"}));
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

}  // namespace
}  // namespace coilward
