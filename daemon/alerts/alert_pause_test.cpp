#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_book.h"
#include "daemon/alerts/alert_test_site.h"

namespace coilward {
namespace {

struct PauseTest : testing::Test {
  Config config = test_site();
  AlertBook book{config};

  std::vector<std::string> until(UtcTime end) {
    std::vector<std::string> list;
    for (const auto& alert : book.advance(end))
      list.push_back(fmt::format("{} {:.2f} of {}", alert_kind_name(alert.kind),
                                 seconds_between(test_start(), alert.raised) / 3600, alert.findings.size()));
    return list;
  }
};
using List = std::vector<std::string>;

TEST_F(PauseTest, WhatIsStillOpenAtTheEndIsToldOnceAndWhatClosedIsNot) {
  ASSERT_TRUE(book.pause(at_hours(2), PauseScope::site(), "anna", test_start()));
  book.finding(test_finding(4), at_hours(0.5));
  book.finding(test_finding(5), at_hours(1));
  book.finding(test_finding(6), at_hours(1));
  book.finding(ended(test_finding(6), at_hours(1.5)), at_hours(1.5));
  EXPECT_EQ(until(at_hours(1.99)), List{});
  EXPECT_EQ(until(at_hours(2.5)), (List{"opened 2.00 of 2"}));
}

TEST_F(PauseTest, AskingAtAnyMomentGivesTheSame) {
  ASSERT_TRUE(book.pause(at_hours(2), PauseScope::site(), "anna", test_start()));
  book.finding(test_finding(4), at_hours(0.5));
  for (double s = 7190; s < 7210; s += 1) EXPECT_EQ(until(at_seconds(s)), List{}) << s;
  EXPECT_EQ(until(at_seconds(7210)), (List{"opened 2.00 of 1"}));
}

TEST_F(PauseTest, KnownFaultsThatEndedMeanwhileAreOneMessageAfterwards) {
  book.finding(test_finding(4), test_start());
  book.finding(test_finding(5), test_start());
  EXPECT_EQ(until(at_hours(0.1)), (List{"opened 0.00 of 2"}));
  ASSERT_TRUE(book.pause(at_hours(8), PauseScope::site(), "anna", at_hours(0.2)));
  book.finding(ended(test_finding(4), at_hours(3)), at_hours(3));
  book.finding(ended(test_finding(5), at_hours(5)), at_hours(5));
  EXPECT_EQ(until(at_hours(24)), (List{"closed 8.00 of 2"}));
}

TEST_F(PauseTest, RepeatsThatFallIntoAPauseAreLeftOut) {
  book.finding(test_finding(4), test_start());
  EXPECT_EQ(until(at_hours(0.1)).size(), 1u);
  ASSERT_TRUE(book.pause(at_hours(8), PauseScope::site(), "anna", at_hours(0.2)));
  EXPECT_EQ(until(at_hours(23)), List{});
  EXPECT_EQ(until(at_hours(25)), (List{"repeat 24.00 of 1"}));
}

TEST_F(PauseTest, WorseWithinAPauseIsToldAfterIt) {
  Finding f = test_finding(4);
  book.finding(f, test_start());
  until(at_hours(0.1));
  ASSERT_TRUE(book.pause(at_hours(3), PauseScope::only(4), "anna", at_hours(0.2)));
  f.fault = Fault::shorted_coil;
  book.finding(f, at_hours(1));
  EXPECT_EQ(until(at_hours(2.99)), List{});
  EXPECT_EQ(until(at_hours(3.5)), (List{"worse 3.00 of 1"}));
}

TEST_F(PauseTest, APausedZoneDoesNotSilenceOthersOrACommonThatTakesOutMore) {
  ASSERT_TRUE(book.pause(at_hours(8), PauseScope::only(4), "anna", test_start()));
  Finding common = test_finding(3, Fault::failed_common);
  common.zones = {3, 4};
  book.finding(test_finding(4), test_start());
  book.finding(common, at_hours(1));
  book.finding(test_finding(5), at_hours(2));
  EXPECT_EQ(until(at_hours(2.5)).size(), 3u) << "the common, zone 5, and the common again after an hour";
}

TEST_F(PauseTest, ResumeTellsAtOnce) {
  ASSERT_TRUE(book.pause(at_hours(8), PauseScope::site(), "anna", test_start()));
  book.finding(test_finding(4), at_hours(1));
  ASSERT_TRUE(book.resume(PauseScope::site(), "anna", at_hours(2)));
  EXPECT_TRUE(book.pauses(at_hours(2)).empty());
  EXPECT_EQ(until(at_hours(2.1)), (List{"opened 2.00 of 1"}));
  EXPECT_EQ(book.resume(PauseScope::site(), "anna", at_hours(2.1)).error().cause, Cause::not_found);
}

TEST_F(PauseTest, EveryPauseEndsByItselfAndIsBounded) {
  EXPECT_EQ(book.pause(at_hours(0), PauseScope::site(), "anna", at_hours(0)).error().cause, Cause::bad_input);
  EXPECT_EQ(book.pause(at_hours(24 * 32), PauseScope::site(), "anna", at_hours(0)).error().cause,
            Cause::bad_input);
  EXPECT_EQ(book.pause(at_hours(1), PauseScope::only(99), "anna", at_hours(0)).error().cause,
            Cause::bad_input);
  ASSERT_TRUE(book.pause(at_hours(1), PauseScope::site(), "anna", at_hours(0)));
  ASSERT_TRUE(book.pause(at_hours(2), PauseScope::site(), "ben", at_hours(0.5)));
  ASSERT_EQ(book.pauses(at_hours(1.5)).size(), 1u);
  EXPECT_EQ(book.pauses(at_hours(1.5))[0].who, "ben");
  EXPECT_TRUE(book.pauses(at_hours(2)).empty());
}

TEST_F(PauseTest, APauseSurvivesARestart) {
  ASSERT_TRUE(book.pause(at_hours(2), PauseScope::site(), "anna", test_start()));
  book.finding(test_finding(4), at_hours(0.5));
  AlertBook other(config);
  ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
  book = std::move(other);
  EXPECT_EQ(until(at_hours(1.99)), List{});
  EXPECT_EQ(until(at_hours(2.5)), (List{"opened 2.00 of 1"}));
}

}  // namespace
}  // namespace coilward
