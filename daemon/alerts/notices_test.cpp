#include "daemon/alerts/notices.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_test_site.h"

namespace coilward {
namespace {

struct NoticesTest : testing::Test {
  Config config = test_site();
  Notices notices{config};
  const SiteTrouble broker{"broker", Severity::urgent, {{"why", "No zone is watched."}}};

  std::vector<std::string> until(UtcTime end) {
    std::vector<std::string> said;
    for (UtcTime due = notices.next_due(); due != kNever && due <= end; due = notices.next_due())
      for (const auto& alert : notices.advance(due)) said.push_back(alert.subject.substr(17));
    return said;
  }
};
using List = std::vector<std::string>;

TEST_F(NoticesTest, AShortTroubleIsNoNews) {
  notices.raise(broker, test_start());
  notices.over("broker", at_seconds(119));
  EXPECT_EQ(until(at_hours(48)), List{});
}

TEST_F(NoticesTest, ALongOneIsToldOnceADayAndOnceWhenItIsOver) {
  notices.raise(broker, test_start());
  EXPECT_EQ(notices.next_due(), at_seconds(120));
  EXPECT_EQ(until(at_hours(50)),
            (List{"The broker cannot be reached.", "Still: The broker cannot be reached.",
                  "Still: The broker cannot be reached."}));
  notices.over("broker", at_hours(50));
  EXPECT_EQ(until(at_hours(100)), (List{"Over: The broker cannot be reached."}));
}

TEST_F(NoticesTest, OneThatComesAndGoesIsToldAtMostTwiceAnHour) {
  int messages = 0;
  for (int minute = 0; minute < 24 * 60; minute += 10) {
    notices.raise(broker, at_seconds(minute * 60));
    messages += static_cast<int>(until(at_seconds(minute * 60 + 300)).size());
    notices.over("broker", at_seconds(minute * 60 + 300));
    messages += static_cast<int>(until(at_seconds(minute * 60 + 599)).size());
  }
  EXPECT_LE(messages, 48);
  EXPECT_GE(messages, 24);
}

TEST_F(NoticesTest, WhatLastsNoMoreIsOver) {
  const SiteTrouble disk{"disk", Severity::soon, {{"why", "It is full."}}};
  notices.last({broker, disk}, test_start());
  EXPECT_EQ(until(at_hours(1)), (List{"The broker cannot be reached.", "Nothing can be recorded."}));
  notices.last({disk}, at_hours(1));
  EXPECT_EQ(until(at_hours(2)), (List{"Over: The broker cannot be reached."}));
  notices.raise({"repair", Severity::soon, {{"why", "There."}}, false}, at_hours(2));
  notices.last({disk}, at_hours(2));
  EXPECT_EQ(until(at_hours(3)), (List{"A damaged file was moved aside."})) << "that has no end";
}

TEST_F(NoticesTest, WaitAsLongAsTheConfigurationSays) {
  config.alerts.trouble_hold_s = 5;
  notices.raise(broker, test_start());
  EXPECT_EQ(notices.next_due(), at_seconds(5));
}

TEST_F(NoticesTest, WhatHappenedIsToldOnce) {
  notices.raise({"repair", Severity::soon, {{"why", "There."}}, false}, test_start());
  EXPECT_EQ(until(at_hours(100)), (List{"A damaged file was moved aside."}));
}

TEST_F(NoticesTest, GoesOnAfterARestartUnderOtherIds) {
  notices.raise(broker, test_start());
  const auto first = notices.advance(at_seconds(120));
  Notices other(config);
  ASSERT_TRUE(other.restore(Json::parse(notices.save().dump())));
  other.over("broker", at_hours(1));
  const auto second = other.advance(at_hours(1));
  ASSERT_EQ(first.size() + second.size(), 2u);
  EXPECT_NE(first[0].id, second[0].id);
  EXPECT_EQ(first[0].kind, AlertKind::installation);
  EXPECT_FALSE(other.restore(Json::object()));
}

}  // namespace
}  // namespace coilward
