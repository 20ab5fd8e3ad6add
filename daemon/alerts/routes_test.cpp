// Who is told what and when, on a clock that is moved by hand.
#include "daemon/alerts/routes_fixture.h"

namespace coilward {
namespace {

using testing::HasSubstr;

TEST_F(RoutesTest, EachHearsItInTheirOwnWords) {
  ana().language = Language::spanish;
  hear(test_finding(4), test_start());
  run_until(at_hours(0.1));
  EXPECT_EQ(said, (RoutesList{"4 May 2026 00:12 MDT ana opened", "4 May 2026 00:12 MDT ben opened",
                              "4 May 2026 00:12 MDT carla opened"}));
  EXPECT_EQ(messages[0]["subject"], "[Juniper Row 12] East hedge (zona 4) no recibe agua");
  EXPECT_THAT(messages[0]["text"].get<std::string>(), HasSubstr("Ben también recibe este aviso."));
  EXPECT_EQ(messages[0]["audience"], "homeowner");
  EXPECT_EQ(messages[0]["language"], "es");
  EXPECT_THAT(messages[1]["text"].get<std::string>(), HasSubstr("Next test: "));
  EXPECT_EQ(messages[2]["person"], "carla") << "a notifier that nobody names is one by itself";
  EXPECT_EQ(messages[0]["id"], messages[1]["id"]);
}

TEST_F(RoutesTest, SeverityZonesAndFaultsChoose) {
  ana().at_least = Severity::urgent;
  ben().zones = {4};
  carla().after_h = 0;
  carla().faults = {Fault::high_resistance};
  hear(with(test_finding(5), Severity::urgent), test_start());
  hear(with(test_finding(4, Fault::high_resistance), Severity::soon), at_hours(0.5));
  run_until(at_hours(0.6));
  EXPECT_EQ(said_by("ana"), (RoutesList{"4 May 2026 00:12 MDT opened"}));
  EXPECT_EQ(said_by("ben"), (RoutesList{"4 May 2026 00:42 MDT opened"}));
  EXPECT_EQ(said_by("carla"), (RoutesList{"4 May 2026 00:42 MDT opened"}));
}

TEST_F(RoutesTest, AStandInOfAnotherSeverityTakesWhatTheFirstDoesNot) {
  ben().by = {"ben", "carla"};
  config.notifiers[1].at_least = Severity::urgent;  // a pager
  hear(with(test_finding(5), Severity::soon), test_start());
  hear(test_finding(4), at_hours(0.5));
  run_until(at_hours(0.6));
  EXPECT_EQ(said_by("ben"), (RoutesList{"4 May 2026 00:42 MDT opened"}));
  EXPECT_EQ(said_by("carla"), (RoutesList{"4 May 2026 00:12 MDT opened"}));
  EXPECT_EQ(stand_ins(config, "ben"), (RoutesList{"carla"}));
  EXPECT_EQ(stand_ins(config, "carla"), RoutesList{});
}

// 00:12 is in the night: urgent news at once, all the rest in one message at seven.
TEST_F(RoutesTest, TheNightIsQuiet) {
  ana().quiet = ben().quiet = QuietHours{22 * 60, 7 * 60};
  without_carla();
  hear(test_finding(1), test_start());
  hear(with(test_finding(2, Fault::high_resistance), Severity::soon), at_hours(1));
  hear(with(test_finding(3, Fault::earth_leakage), Severity::watch), at_hours(2));
  hear(ended(test_finding(1), at_hours(3)), at_hours(3));
  run_until(at_hours(6.9));
  EXPECT_EQ(said_by("ana"), (RoutesList{"4 May 2026 00:12 MDT opened", "4 May 2026 07:00 MDT digest"}));
  const std::string text = messages[2]["text"];
  EXPECT_EQ(messages[2]["subject"], "[Juniper Row 12] 3 messages that could wait");
  EXPECT_THAT(text, HasSubstr("Zone 2 still works"));
  EXPECT_THAT(text, HasSubstr("Zone 3 still works"));
  EXPECT_THAT(text, HasSubstr("All is well again: Zone 1."));
  EXPECT_EQ(messages[3]["findings"].size(), 3u);
  EXPECT_EQ(messages[3]["due"], "2026-05-04T13:00:00.000Z");
}

TEST_F(RoutesTest, WhatGotWorseInTheNightIsNotSaidTwice) {
  ana().quiet = QuietHours{22 * 60, 7 * 60};
  config.people.pop_back();
  config.notifiers.resize(1);
  const Finding f = test_finding(2, Fault::high_resistance);
  hear(with(f, Severity::soon), test_start());
  hear(with(f, Severity::urgent), at_hours(1));
  run_until(at_hours(1.5));
  ASSERT_TRUE(book.acknowledge(f.id, "Ben", now));
  run_until(at_hours(12));
  EXPECT_EQ(said, (RoutesList{"4 May 2026 01:12 MDT ana opened"})) << "to Ana it is news";
}

TEST_F(RoutesTest, OneThatWaitedAloneKeepsItsId) {
  config.alerts.repeat_h = {24};
  ana().quiet = QuietHours{22 * 60, 7 * 60};
  config.people.pop_back();
  config.notifiers.resize(1);
  hear(with(test_finding(2, Fault::high_resistance), Severity::soon), test_start());
  Routes other(config);
  run_until(at_hours(0.5));
  ASSERT_TRUE(other.restore(Json::parse(routes.save().dump())));
  routes = std::move(other);
  run_until(at_hours(12));
  ASSERT_EQ(messages.size(), 1u);
  EXPECT_EQ(messages[0]["id"], "20260504-061209-z2-high_resistance.opened.1");
  EXPECT_EQ(messages[0]["subject"], "[Juniper Row 12] A message that could wait");
  EXPECT_FALSE(routes.restore(Json::object()));
}

TEST_F(RoutesTest, CarlaIsAskedWhenNobodyAnswers) {
  carla();
  ben().by = {"ben"};
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(5));
  EXPECT_EQ(said_by("carla"), (RoutesList{"4 May 2026 04:12 MDT opened"}));
  EXPECT_THAT(messages.back()["text"].get<std::string>(),
              HasSubstr("Nobody has acknowledged this for 4 hours."));
  hear(ended(f, at_hours(30)), at_hours(30));
  run_until(at_hours(31));
  EXPECT_EQ(said_by("carla"), (RoutesList{"4 May 2026 04:12 MDT opened", "4 May 2026 06:12 MDT repeat",
                                          "5 May 2026 00:12 MDT repeat", "5 May 2026 06:12 MDT closed"}));
}

TEST_F(RoutesTest, CarlaIsLeftAloneWhenSomeoneAnswersOrItEnds) {
  carla();
  hear(test_finding(4), test_start());
  hear(test_finding(5), test_start());
  run_until(at_hours(1));
  ASSERT_TRUE(book.acknowledge(test_finding(4).id, "Ben", now));
  hear(ended(test_finding(5), at_hours(2)), at_hours(2));
  run_until(at_hours(100));
  EXPECT_EQ(said_by("carla"), RoutesList{});
}

TEST_F(RoutesTest, OurOwnTroubleIsForBenAndNeverAValvesFault) {
  without_carla();
  notices.raise({"broker", Severity::soon, {{"why", "connection refused"}}}, test_start());
  hear(test_finding(4, Fault::sensor_fault), test_start());
  run_until(at_hours(0.5));
  EXPECT_EQ(said_by("ana"), RoutesList{});
  EXPECT_EQ(said_by("ben").size(), 2u);
  config.people.pop_back();
  config.notifiers.pop_back();
  notices.over("broker", at_hours(1));
  run_until(at_hours(1));
  ASSERT_EQ(said_by("ana").size(), 1u) << "there is nobody else any more";
  EXPECT_EQ(messages.back()["subject"], "[Juniper Row 12] We can watch your garden again");
}

}  // namespace
}  // namespace coilward
