// Who is told what and when, on a clock that is moved by hand.
#include "daemon/alerts/routes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/notices.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

using List = std::vector<std::string>;
using testing::HasSubstr;

PersonConfig person(std::string name, Audience audience, List by) {
  PersonConfig p;
  p.name = std::move(name);
  p.audience = audience;
  p.by = std::move(by);
  return p;
}

// The site of the tests: Ana lives there, Ben repairs it, Carla is asked when nobody answers. 06:12 UTC is
// 00:12 on the site's clock.
struct RoutesTest : testing::Test {
  RoutesTest() {
    for (const char* name : {"ana", "ben", "carla"}) {
      PluginUse use;
      use.name = use.plugin = name;
      config.notifiers.push_back(use);
    }
    config.people = {person("Ana", Audience::homeowner, {"ana"}),
                     person("Ben", Audience::technician, {"ben"})};
  }
  PersonConfig& ana() { return config.people[0]; }
  PersonConfig& ben() { return config.people[1]; }
  PersonConfig& carla() {
    if (config.people.size() < 3) {
      config.people.push_back(person("Carla", Audience::technician, {"carla"}));
      config.people[2].after_h = 4;
    }
    return config.people[2];
  }
  void without_carla() { config.notifiers.pop_back(); }

  // Lets book, notices and routes speak whenever they have something to say, as the daemon's timer does.
  void run_until(UtcTime end) {
    for (;;) {
      UtcTime due = end;
      for (UtcTime next : {book.next_due(), notices.next_due(), routes.next_due()})
        if (next != kNever) due = std::min(due, next);
      now = std::max(now, due);
      for (const auto& alert : book.advance(now)) routes.alert(alert, now);
      for (const auto& alert : notices.advance(now)) routes.alert(alert, now);
      for (auto& message : routes.advance(now, [this](const std::string& id) { return book.unanswered(id); }))
        say(message);
      if (now >= end) return;
    }
  }
  void say(const RoutedMessage& message) {
    const Json json = Json::parse(message.json);
    messages.push_back(json);
    said.push_back(fmt::format("{} {} {}", site_date_time(now, config.site.timezone).substr(4),
                               message.notifier, json["kind"].get<std::string>()));
  }
  void hear(const Finding& finding, UtcTime at) {
    run_until(at);
    book.finding(finding, at);
  }
  // Only what came by one notifier, without its name.
  List said_by(const std::string& notifier) const {
    List list;
    for (const auto& line : said)
      if (const auto at = line.find(" " + notifier + " "); at != std::string::npos)
        list.push_back(line.substr(0, at) + line.substr(at + notifier.size() + 1));
    return list;
  }

  Config config = test_site();
  AlertBook book{config};
  Notices notices{config};
  Routes routes{config};
  UtcTime now = test_start();
  List said;
  std::vector<Json> messages;
};

Finding with(Finding f, Severity severity) {
  f.severity = severity;
  return f;
}

TEST_F(RoutesTest, EachHearsItInTheirOwnWords) {
  ana().language = Language::spanish;
  hear(test_finding(4), test_start());
  run_until(at_hours(0.1));
  EXPECT_EQ(said, (List{"4 May 2026 00:12 MDT ana opened", "4 May 2026 00:12 MDT ben opened",
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
  EXPECT_EQ(said_by("ana"), (List{"4 May 2026 00:12 MDT opened"}));
  EXPECT_EQ(said_by("ben"), (List{"4 May 2026 00:42 MDT opened"}));
  EXPECT_EQ(said_by("carla"), (List{"4 May 2026 00:42 MDT opened"}));
}

TEST_F(RoutesTest, AStandInOfAnotherSeverityTakesWhatTheFirstDoesNot) {
  ben().by = {"ben", "carla"};
  config.notifiers[1].at_least = Severity::urgent;  // a pager
  hear(with(test_finding(5), Severity::soon), test_start());
  hear(test_finding(4), at_hours(0.5));
  run_until(at_hours(0.6));
  EXPECT_EQ(said_by("ben"), (List{"4 May 2026 00:42 MDT opened"}));
  EXPECT_EQ(said_by("carla"), (List{"4 May 2026 00:12 MDT opened"}));
  EXPECT_EQ(stand_ins(config, "ben"), (List{"carla"}));
  EXPECT_EQ(stand_ins(config, "carla"), List{});
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
  EXPECT_EQ(said_by("ana"), (List{"4 May 2026 00:12 MDT opened", "4 May 2026 07:00 MDT digest"}));
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
  EXPECT_EQ(said, (List{"4 May 2026 01:12 MDT ana opened"})) << "to Ana it is news";
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
  EXPECT_EQ(said_by("carla"), (List{"4 May 2026 04:12 MDT opened"}));
  EXPECT_THAT(messages.back()["text"].get<std::string>(),
              HasSubstr("Nobody has acknowledged this for 4 hours."));
  hear(ended(f, at_hours(30)), at_hours(30));
  run_until(at_hours(31));
  EXPECT_EQ(said_by("carla"), (List{"4 May 2026 04:12 MDT opened", "4 May 2026 06:12 MDT repeat",
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
  EXPECT_EQ(said_by("carla"), List{});
}

TEST_F(RoutesTest, OurOwnTroubleIsForBenAndNeverAValvesFault) {
  without_carla();
  notices.raise({"broker", Severity::soon, {{"why", "connection refused"}}}, test_start());
  hear(test_finding(4, Fault::sensor_fault), test_start());
  run_until(at_hours(0.5));
  EXPECT_EQ(said_by("ana"), List{});
  EXPECT_EQ(said_by("ben").size(), 2u);
  config.people.pop_back();
  config.notifiers.pop_back();
  notices.over("broker", at_hours(1));
  run_until(at_hours(1));
  ASSERT_EQ(said_by("ana").size(), 1u) << "there is nobody else any more";
  EXPECT_EQ(messages.back()["subject"], "[Juniper Row 12] We can watch your garden again");
}

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
  EXPECT_EQ(said_by("ben"), (List{"4 May 2026 00:12 MDT opened"}));
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
