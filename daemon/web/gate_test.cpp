// Each need and each kind of visitor; every route of the table; where a login may lead back to.
#include "daemon/web/gate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "daemon/web/api_route.h"
#include "daemon/web/login_web_kit.h"

namespace coilward {
namespace {

using enum VisitorKind;

const std::vector<std::pair<VisitorKind, std::string>> kVisitors = {
    {stranger, "stranger"},     {link, "link"},           {homeowner, "homeowner"},
    {technician, "technician"}, {unguarded, "unguarded"}, {local, "local"}};

// Written out, so that a slip in the code shows.
const std::map<Need, std::set<VisitorKind>> kMay = {
    {Need::open, {stranger, link, homeowner, technician, unguarded, local}},
    {Need::read, {link, homeowner, technician, unguarded, local}},
    {Need::acknowledge, {homeowner, technician, unguarded, local}},
    {Need::technician, {technician, unguarded, local}},
    {Need::person, {homeowner, technician}},
    {Need::local, {local}}};

TEST(Gate, each_need_and_each_kind_of_visitor) {
  for (const auto& [need, kinds] : kMay)
    for (const auto& [kind, name] : kVisitors) {
      const Passage expected = kinds.contains(kind) ? Passage::enter
                               : kind == stranger   ? Passage::log_in
                                                    : Passage::refuse;
      EXPECT_EQ(passage(kind, need), expected) << name << " at need " << static_cast<int>(need);
    }
}

// Everything that is open to strangers, and everything that less than a technician may do, by name: a new
// route that is opened by mistake is found here.
TEST(Gate, what_is_open_and_what_a_homeowner_may_do_is_written_down) {
  std::set<std::string> open, acting;
  for (const Route& route : Api::routes()) {
    if (route.need == Need::open) open.insert(route.method + " " + route.pattern);
    if (route.method == "POST" && route.need == Need::acknowledge) acting.insert(route.pattern);
    if (route.method == "POST") {
      EXPECT_NE(route.need, Need::read) << route.pattern;
    }
  }
  EXPECT_THAT(
      open, testing::UnorderedElementsAre("GET /login", "POST /login", "GET /set-up", "POST /set-up",
                                          "GET /link/{secret}", "GET /worker.js", "GET /app.webmanifest",
                                          "GET /assets/{name}", "GET /healthz", "GET /api/v1/openapi.json"));
  EXPECT_THAT(acting, testing::UnorderedElementsAre("/finding/{id}/acknowledge",
                                                    "/api/v1/findings/{id}/acknowledge"));
}

std::string path_of(const std::string& pattern) {
  std::string path;
  for (std::size_t at = 0; at < pattern.size(); ++at) {
    if (pattern[at] != '{') {
      path += pattern[at];
      continue;
    }
    path += pattern.substr(at).starts_with("{zone}") ? "4" : "x";
    at = pattern.find('}', at);
  }
  return path;
}

class Routes : public ::testing::Test, protected LoginWebKit {
 protected:
  void SetUp() override { let_in_both(); }
  void expect_passage(const Route& route, VisitorKind kind, const Asker& asker) {
    ApiRequest request{route.method, path_of(route.pattern), {}, ""};
    request.asker = asker;
    if (Api::body_bytes(request.method, request.path) > 0) {
      request.content_type = "multipart/form-data; boundary=edge";
      request.body =
          "--edge\r\nContent-Disposition: form-data; name=\"words\"\r\n\r\nno token\r\n--edge--\r\n";
    }
    const ApiResponse answer = ask(request);
    const bool page =
        !route.pattern.starts_with("/api/") && route.pattern != "/metrics" && route.pattern != "/events";
    const std::string what =
        route.method + " " + route.pattern + " " + kVisitors[static_cast<std::size_t>(kind)].second;
    switch (passage(kind, route.need)) {
      case Passage::log_in:
        EXPECT_EQ(answer.status, page ? 303 : 401) << what;
        if (page) {
          EXPECT_TRUE(answer.location.starts_with("/login")) << what << answer.location;
        }
        EXPECT_THAT(answer.body, testing::Not(testing::HasSubstr("Juniper"))) << what;
        break;
      case Passage::refuse:
        EXPECT_EQ(answer.status, 403) << what;
        break;
      case Passage::enter:
        EXPECT_NE(answer.status, 401) << what;
        EXPECT_FALSE(answer.location.starts_with("/login?next")) << what;
        // What wants to act has sent no token.
        if (route.method == "POST" && kind != local) {
          EXPECT_EQ(answer.status, 403) << what;
        }
    }
  }
};

TEST_F(Routes, each_lets_in_whom_its_need_says) {
  ASSERT_GT(Api::routes().size(), 60u);
  for (const Route& route : Api::routes()) {
    expect_passage(route, stranger, tcp());
    expect_passage(route, stranger, with_session("not one of ours"));
    expect_passage(route, stranger, with_link("not one of ours"));
    expect_passage(route, link, with_link(share()));
    expect_passage(route, homeowner, with_session(ann));
    expect_passage(route, technician, with_session(sam));
  }
  EXPECT_EQ(kit.logins->people().size(), 2u);
  EXPECT_TRUE(site.acknowledged_by("").empty());
  EXPECT_EQ(site.paused_until, kNever);
}

TEST_F(Routes, a_link_is_taken_as_a_bearer_too) {
  Asker asker = tcp();
  asker.authorization = "Bearer " + share();
  EXPECT_EQ(visitor_of(asker, kit.logins.get()).kind, link);
  asker.authorization = "Bearer " + sam;
  EXPECT_EQ(visitor_of(asker, kit.logins.get()).kind, stranger) << "a session is for browsers";
}

TEST_F(Routes, a_cookie_over_tls_has_its_own_name) {
  Asker asker = with_session(sam);
  asker.secure = true;
  EXPECT_EQ(visitor_of(asker, kit.logins.get()).kind, stranger);
  asker.cookies = "__Host-" + asker.cookies;
  EXPECT_EQ(visitor_of(asker, kit.logins.get()).kind, technician);
}

TEST(GateUnguarded, this_machine_alone_while_nobody_has_a_password) {
  LoginTestKit kit;
  EXPECT_EQ(visitor_of({false, "127.0.0.1"}, kit.logins.get()).kind, unguarded);
  EXPECT_EQ(visitor_of({false, "::1"}, kit.logins.get()).kind, unguarded);
  EXPECT_EQ(visitor_of({false, "192.168.1.7"}, kit.logins.get()).kind, stranger);
  EXPECT_EQ(visitor_of({true}, kit.logins.get()).kind, local);
  ASSERT_TRUE(kit.add("Sam", Role::technician, kSamsPassword));
  EXPECT_EQ(visitor_of({false, "127.0.0.1"}, kit.logins.get()).kind, stranger);
  kit.directory.write("people.json", "{");
  kit.reopen();
  EXPECT_EQ(visitor_of({false, "127.0.0.1"}, kit.logins.get()).kind, stranger) << "damaged is not nobody";
}

TEST(GateReturn, only_to_a_path_of_this_site) {
  for (const char* good : {"/", "/zone/4?range=day&until=7d", "/finding/a%2Fb"})
    EXPECT_TRUE(is_local_path(good)) << good;
  for (const char* bad : {"", "//evil.example", "/\\evil.example", "https://evil.example", "zone/4", "/a b",
                          "/\tevil", "/a\r\nSet-Cookie: x", "/\"><script>", "\\/evil"})
    EXPECT_FALSE(is_local_path(bad)) << bad;
  EXPECT_EQ(login_path({"GET", "/zone/4", {{"range", "day"}}, ""}), "/login?next=%2Fzone%2F4%3Frange%3Dday");
  EXPECT_EQ(login_path({"POST", "/pause", {}, ""}), "/login");
  EXPECT_EQ(login_path({"GET", "//evil.example", {}, ""}), "/login");
  EXPECT_EQ(login_path({"GET", "/", {}, ""}), "/login");
}

}  // namespace
}  // namespace coilward
