// Ana, Ben and Carla, and what each of them is told.
#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/notices.h"
#include "daemon/alerts/routes.h"
#include "daemon/alerts/site_time.h"

namespace coilward {

using RoutesList = std::vector<std::string>;

inline PersonConfig person(std::string name, Audience audience, RoutesList by) {
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
  RoutesList said_by(const std::string& notifier) const {
    RoutesList list;
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
  RoutesList said;
  std::vector<Json> messages;
};

Finding with(Finding f, Severity severity) {
  f.severity = severity;
  return f;
}

}  // namespace coilward
