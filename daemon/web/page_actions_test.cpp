// Forms: done with the token of our own pages, refused without, and never by a GET.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/form_guard.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

class PageActions : public ::testing::Test {
 protected:
  PageActions() { site.findings_ = {web_test_finding()}; }
  ApiResponse ask(const std::string& method, const std::string& path, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, {}, body}, [&](ApiResponse answer) { response = std::move(answer); });
    EXPECT_TRUE(response.has_value()) << path;
    return response.value_or(ApiResponse{0});
  }
  std::string token(const std::string& path = "/") {
    const std::string page = ask("GET", path).body, before = "name=\"token\" value=\"";
    const auto at = page.find(before);
    EXPECT_NE(at, std::string::npos);
    return page.substr(at + before.size(), 32);
  }
  bool nothing_done() const {
    return site.acknowledged_by("").empty() && site.paused_until == kNever && !site.repaired_target;
  }

  WebTestSite site;
  Api api{site};
  const std::string finding = "/finding/20260504-061209-z4-open_circuit";
};

TEST_F(PageActions, are_done_and_lead_back_to_the_page) {
  ApiResponse done =
      ask("POST", finding + "/acknowledge", "token=" + token(finding) + "&by=J%C3%B6rg+%26+Co");
  EXPECT_EQ(done.status, 303);
  EXPECT_EQ(done.location, finding + "?said=acknowledged");
  EXPECT_EQ(site.acknowledged_by(""), "Jörg & Co");
  EXPECT_EQ(site.acknowledged_until(""), kNever);
  ask("POST", finding + "/acknowledge", "token=" + token() + "&for=8h");
  EXPECT_EQ(site.acknowledged_until(""), test_now() + std::chrono::hours{8});
  EXPECT_EQ(ask("POST", finding + "/acknowledge", "token=" + token() + "&for=soon").status, 400);
  done = ask("POST", "/pause", "token=" + token() + "&zone=4&for=2h");
  EXPECT_EQ(done.location, "/zone/4?said=paused");
  EXPECT_EQ(site.paused_until, test_now() + std::chrono::hours{2});
  EXPECT_EQ(site.paused_zone, 4);
  done = ask("POST", "/repaired", "token=" + token() + "&common=main");
  EXPECT_EQ(done.location, "/?said=repaired");
  EXPECT_EQ(*site.repaired_target, RepairTarget(std::string("main")));
}

TEST_F(PageActions, without_our_token_nothing_is_done) {
  const std::string other_process = Api(site).routes().empty() ? "" : make_form_token();
  for (const std::string& sent :
       {std::string(), std::string("token="), "token=" + other_process, "token=" + token().substr(1)})
    for (const auto& [path, more] : {std::pair{finding + "/acknowledge", ""},
                                     {std::string("/pause"), "&for=2h"},
                                     {std::string("/repaired"), "&zone=4"},
                                     {std::string("/resume"), ""}})
      EXPECT_EQ(ask("POST", path, sent + more).status, 403) << path << " " << sent;
  EXPECT_TRUE(nothing_done());
}

TEST_F(PageActions, a_get_changes_nothing) {
  for (const std::string& path :
       {finding + "/acknowledge", std::string("/pause"), std::string("/repaired"), std::string("/resume")}) {
    EXPECT_EQ(ask("GET", path).status, 405) << path;
    EXPECT_EQ(ask("GET", path).allow, "POST") << path;
  }
  ask("GET", finding);
  EXPECT_TRUE(nothing_done());
}

TEST_F(PageActions, what_cannot_be_done_is_said) {
  const std::string with = "token=" + token();
  EXPECT_EQ(ask("POST", "/pause", with + "&for=soon").status, 400);
  EXPECT_EQ(ask("POST", "/pause", with + "&zone=9&for=2h").status, 404);
  EXPECT_EQ(ask("POST", "/repaired", with).status, 400);
  EXPECT_EQ(ask("POST", "/repaired", with + "&zone=4&common=main").status, 400);
  EXPECT_EQ(ask("POST", "/resume", with).status, 404);
  EXPECT_EQ(ask("POST", "/finding/none/acknowledge", with).status, 404);
  EXPECT_EQ(ask("POST", "/pause", with + "&for=2h&back=http://evil").status, 400);
  EXPECT_EQ(ask("POST", "/pause", with + "&for=2h&for=3h").status, 400);
  EXPECT_TRUE(nothing_done());
}

TEST_F(PageActions, each_process_has_a_token_of_its_own) {
  Api another(site);
  std::string page;
  another.handle({"GET", "/", {}, ""}, [&](const ApiResponse& answer) { page = answer.body; });
  EXPECT_EQ(page.find(token()), std::string::npos);
}

TEST(FormGuard, fields_are_taken_apart) {
  const auto form = parse_form("a=1&b=x+y%26z&&c=");
  ASSERT_TRUE(form);
  EXPECT_EQ(*form, (FormFields{{"a", "1"}, {"b", "x y&z"}, {"c", ""}}));
  EXPECT_FALSE(parse_form("a=%zz"));
  EXPECT_FALSE(parse_form("a=1&a=2"));
}

TEST(FormGuard, tokens_are_the_same_or_not) {
  EXPECT_TRUE(same_token("abc", "abc"));
  for (const char* other : {"", "ab", "abd", "abcd", "bbc"}) EXPECT_FALSE(same_token(other, "abc")) << other;
  EXPECT_FALSE(same_token("", ""));
  EXPECT_EQ(make_form_token().size(), 32u);
  EXPECT_NE(make_form_token(), make_form_token());
}

}  // namespace
}  // namespace coilward
