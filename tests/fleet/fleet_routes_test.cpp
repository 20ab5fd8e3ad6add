// Every route of the table, asked by people of one organisation with the ids of another.
#include <gmock/gmock.h>

#include "daemon/fleet/server/fleet_route.h"
#include "tests/fleet/two_organisations.h"

namespace coilward {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

// Ids of one site, by the names in {}; one that is not known here fails the test.
std::string with_ids_of(std::string_view pattern, const std::string& site) {
  std::string path;
  for (std::size_t at = 0; at < pattern.size(); ++at) {
    if (pattern[at] != '{') {
      path += pattern[at];
      continue;
    }
    const std::string_view name = pattern.substr(at + 1, pattern.find('}', at) - at - 1);
    if (name == "site")
      path += site;
    else if (name == "finding")
      path += "f-" + site;
    else if (name == "asset")
      path += "style.css";
    else
      ADD_FAILURE() << "which " << name << " has " << site << "?";
    at = pattern.find('}', at);
  }
  return path;
}

std::string status_of_text(const std::string& answer) { return answer.substr(0, answer.find("\r\n")); }

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

class FleetRoutes : public TwoOrganisations {
 protected:
  std::string ask(const FleetRoute& route, const std::string& site, const std::string& token) {
    const std::string path = with_ids_of(route.pattern, site);
    if (route.method == "GET") return stage->get(path);
    const std::string more = route.keys.find(" to") != std::string_view::npos ? "&to=" : "";
    return stage->post(path, "token=" + token + more);
  }
  // What is not theirs looks like what is not there, byte for byte.
  void walk(const std::string& who, const std::string& foreign, const std::string& foreign_words) {
    ASSERT_TRUE(log_in(who));
    const std::string token = stage->token_on("/account");
    ASSERT_FALSE(token.empty());
    for (const FleetRoute& route : fleet_routes()) {
      const std::string what = who + ": " + std::string(route.method) + " " + std::string(route.pattern);
      if (route.pattern.find("{site}") == std::string_view::npos) {
        const std::string answer = ask(route, foreign, route.method == "POST" ? "none" : token);
        EXPECT_THAT(answer, Not(HasSubstr(foreign))) << what;
        EXPECT_THAT(answer, Not(HasSubstr(foreign_words))) << what;
        continue;
      }
      const std::string theirs = ask(route, foreign, token), nowhere = ask(route, "nowhere", token);
      if (!route_is_refused(route, who)) {
        EXPECT_THAT(theirs, StartsWith("HTTP/1.1 404")) << what;
      }
      EXPECT_EQ(replaced(without_times(theirs), foreign, "nowhere").size(), without_times(nowhere).size())
          << what;
      EXPECT_EQ(status_of_text(theirs), status_of_text(nowhere)) << what;
      EXPECT_THAT(theirs, Not(HasSubstr(foreign_words))) << what;
      ++asked_;
    }
  }
  // By what one is, whatever the id.
  static bool route_is_refused(const FleetRoute& route, const std::string& who) {
    return (who == "Hanna" && route.need != FleetNeed::read) ||
           (who == "Ben" && route.need == FleetNeed::assign);
  }
  // The length's field, the date's, and the clock of the page.
  static std::string without_times(const std::string& answer) {
    const auto body = answer.find("\r\n\r\n");
    const auto clock = answer.find("<time"), end = answer.find("</time>");
    if (clock == std::string::npos) return answer.substr(body);
    return answer.substr(body, clock - body) + answer.substr(end);
  }
  int asked_ = 0;
};

TEST_F(FleetRoutes, WhatIsAnothersIsNotThere) {
  walk("Ana", "rowan-1", "Rowan");
  walk("Ben", "rowan-1", "Rowan");
  walk("Hanna", "rowan-1", "Rowan");
  walk("Hanna", "larch-2", "Gate of larch-2");
  walk("Rita", "larch-1", "Larch");
  EXPECT_EQ(asked_, 5 * 3) << "routes with a site in them";
  EXPECT_EQ(stage->database.number("select count(*) from finding where acknowledged_at is not null"), 0);
  EXPECT_EQ(stage->database.number("select count(*) from site where assigned_at is not null"), 0);
}

TEST_F(FleetRoutes, AStrangerIsToldNothing) {
  for (const FleetRoute& route : fleet_routes()) {
    const std::string what = std::string(route.method) + " " + std::string(route.pattern);
    const std::string here = ask(route, "larch-1", "none");
    EXPECT_THAT(here, Not(HasSubstr("Larch"))) << what;
    EXPECT_THAT(here, Not(HasSubstr("Gate of"))) << what;
    if (route.need == FleetNeed::open || route.need == FleetNeed::machine) continue;
    EXPECT_THAT(here, StartsWith("HTTP/1.1 303")) << what;
    EXPECT_THAT(here, HasSubstr("Location: /login")) << what;
  }
}

// Written out, so that a route that is opened by mistake is found.
TEST(FleetRouteTable, WhatIsOpenIsWrittenDown) {
  std::vector<std::string> open;
  for (const FleetRoute& route : fleet_routes()) {
    if (route.need == FleetNeed::open)
      open.push_back(std::string(route.method) + " " + std::string(route.pattern));
    if (route.method == "POST") {
      EXPECT_NE(route.need, FleetNeed::read) << route.pattern;
    }
  }
  EXPECT_THAT(open, testing::UnorderedElementsAre("GET /login", "POST /login", "GET /assets/{asset}",
                                                  "GET /app.webmanifest", "GET /healthz"));
}

}  // namespace
}  // namespace coilward
