// Logging in and out, the first set-up, the account and read-only links, through their pages.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/login_web_kit.h"
#include "daemon/web/page_check.h"

namespace coilward {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string set_cookies(const ApiResponse& answer) {
  std::string all;
  for (const auto& [name, value] : answer.fields) all += name + ": " + value + "\n";
  return all;
}

class LoginPages : public ::testing::Test, protected LoginWebKit {
 protected:
  void SetUp() override {
    let_in_both();
    site.findings_ = {web_test_finding()};
  }
  const std::string finding = "/finding/20260504-061209-z4-open_circuit";
};

TEST_F(LoginPages, lead_back_to_where_one_wanted_to_go) {
  const ApiResponse away = get("/zone/4", tcp(), {{"range", "day"}});
  EXPECT_EQ(away.location, "/login?next=%2Fzone%2F4%3Frange%3Dday");
  const ApiResponse page = get("/login", tcp(), {{"next", "/zone/4?range=day"}});
  EXPECT_THAT(page.body, HasSubstr("name=\"next\" value=\"/zone/4?range=day\""));
  EXPECT_EQ(PageCheck(page.body).fault(), "");
  const ApiResponse in = log_in("sam", kSamsPassword, tcp(), "&next=%2Fzone%2F4%3Frange%3Dday");
  EXPECT_EQ(in.status, 303);
  EXPECT_EQ(in.location, "/zone/4?range=day");
  EXPECT_EQ(get("/zone/4", with_session(cookie_set(in, kSessionCookie)), {{"range", "day"}}).status, 200);
  for (const char* elsewhere : {"//evil.example", "https://evil.example", "/\\evil.example"}) {
    EXPECT_THAT(get("/login", tcp(), {{"next", elsewhere}}).body, Not(HasSubstr("evil")));
    EXPECT_EQ(log_in("Sam", kSamsPassword, tcp(), "&next=" + percent_encoded(elsewhere)).location, "/");
  }
}

TEST_F(LoginPages, set_cookies_that_scripts_and_other_sites_do_not_get) {
  const std::string plain = set_cookies(log_in("Sam", kSamsPassword));
  EXPECT_THAT(plain,
              AllOf(HasSubstr("coilward_session="), HasSubstr("; HttpOnly"), HasSubstr("; SameSite=Lax"),
                    HasSubstr("; Path=/"), Not(HasSubstr("Domain")), Not(HasSubstr("Secure"))));
  Asker tls = tcp();
  tls.secure = true;
  const std::string secure = set_cookies(log_in("Sam", kSamsPassword, tls));
  EXPECT_THAT(secure, AllOf(HasSubstr("__Host-coilward_session="), HasSubstr("; Secure")));
}

TEST_F(LoginPages, say_the_same_for_a_wrong_name_and_a_wrong_password) {
  const ApiResponse name = log_in("Eve", "a wrong password"), password = log_in("Sam", "a wrong password");
  EXPECT_EQ(name.status, 403);
  EXPECT_EQ(password.status, 403);
  const auto without = [](std::string body, const std::string& own) {
    for (auto at = body.find(own); at != std::string::npos; at = body.find(own)) body.erase(at, own.size());
    return body;
  };
  EXPECT_EQ(without(name.body, "Eve"), without(password.body, "Sam"));
  EXPECT_THAT(password.body, AllOf(HasSubstr("role=\"alert\""), Not(HasSubstr("a wrong password"))));
  EXPECT_EQ(PageCheck(password.body).fault(), "");
}

TEST_F(LoginPages, make_who_guesses_wait) {
  ApiResponse last;
  for (int i = 0; i < 6; ++i) last = log_in("Sam", "guess number " + std::to_string(i), tcp("203.0.113.9"));
  EXPECT_EQ(last.status, 429);
  EXPECT_THAT(set_cookies(last), HasSubstr("Retry-After: "));
  EXPECT_EQ(log_in("Sam", kSamsPassword, tcp("203.0.113.9")).status, 429);
  EXPECT_EQ(log_in("Sam", kSamsPassword, tcp("192.168.1.5")).status, 303) << "at home nobody waits for that";
}

TEST_F(LoginPages, know_a_browser_again_that_was_logged_in) {
  const std::string known = cookie_set(log_in("Sam", kSamsPassword), kKnownCookie);
  for (int i = 0; i < 8; ++i) log_in("Sam", "guess number " + std::to_string(i), tcp("203.0.113.9"));
  Asker back = with_cookie(kKnownCookie, known);
  back.address = "203.0.113.9";
  EXPECT_EQ(log_in("Sam", kSamsPassword, back).status, 303);
}

TEST_F(LoginPages, a_session_has_a_token_of_its_own) {
  const std::string sams = token("/", with_session(sam));
  ASSERT_EQ(sams.size(), 32u);
  EXPECT_EQ(post("/pause", with_session(sam), "for=2h&token=" + token("/login", tcp())).status, 403);
  const std::string other = kit.log_in("Sam", kSamsPassword).session;
  EXPECT_NE(token("/", with_session(other)), sams);
  EXPECT_EQ(post("/pause", with_session(other), "for=2h&token=" + sams).status, 403);
  EXPECT_EQ(site.paused_until, kNever);
  EXPECT_EQ(post("/pause", with_session(sam), "for=2h&token=" + sams).status, 303);
  EXPECT_NE(site.paused_until, kNever);
  Api restarted(site, kit.logins.get());
  std::optional<ApiResponse> again;
  restarted.handle({"POST", "/pause", {}, "for=2h&token=" + sams, with_session(sam)},
                   [&](ApiResponse answer) { again = std::move(answer); });
  EXPECT_EQ(again->status, 303) << "a page from before a restart still works";
}

TEST_F(LoginPages, a_program_acts_with_the_token_in_a_field) {
  Asker asker = with_session(sam);
  EXPECT_EQ(post("/api/v1/pause", asker, "{\"for\":\"2h\"}").status, 403);
  const Json session = Json::parse(get("/api/v1/session", asker).body);
  EXPECT_EQ(session["name"], "Sam");
  EXPECT_EQ(session["role"], "technician");
  asker.token = session["token"];
  EXPECT_EQ(post("/api/v1/pause", asker, "{\"for\":\"2h\",\"by\":\"somebody else\"}").status, 200);
  EXPECT_NE(site.paused_until, kNever);
}

TEST_F(LoginPages, what_is_done_is_written_down_under_the_name_of_the_login) {
  const std::string with = "token=" + token(finding, with_session(ann));
  EXPECT_THAT(get(finding, with_session(ann)).body, Not(HasSubstr("name=\"by\"")));
  EXPECT_EQ(post(finding + "/acknowledge", with_session(ann), with + "&by=Sam").status, 303);
  EXPECT_EQ(site.acknowledged_by(""), "Ann");
}

TEST_F(LoginPages, show_everyone_the_forms_that_are_theirs) {
  site.runs_allowed = true;
  for (const std::string& path :
       {std::string("/"), std::string("/zone/4"), std::string("/zone/4/live"), finding}) {
    const std::string sams = get(path, with_session(sam)).body, anns = get(path, with_session(ann)).body,
                      guests = get(path, with_link(share())).body;
    for (const std::string& page : {sams, anns, guests}) EXPECT_EQ(PageCheck(page).fault(), "") << path;
    EXPECT_THAT(guests, Not(HasSubstr("<form"))) << path;
    EXPECT_THAT(guests,
                AllOf(HasSubstr("read-only link"), Not(HasSubstr("/told")), Not(HasSubstr("/test-run\""))));
    for (const char* technicians : {"/pause", "/repaired", "/test-reading", "/test-run\"", "href=\"/told\""})
      EXPECT_THAT(anns, Not(HasSubstr(technicians))) << path;
    EXPECT_THAT(sams, AllOf(HasSubstr("href=\"/told\""), HasSubstr("href=\"/share\""))) << path;
  }
  EXPECT_THAT(get(finding, with_session(ann)).body, HasSubstr("/acknowledge\""));
  EXPECT_THAT(get(finding, with_session(sam)).body,
              AllOf(HasSubstr("/repaired\""), HasSubstr("/pause\""), HasSubstr("/test-reading\"")));
}

TEST_F(LoginPages, a_logout_ends_the_session_here) {
  const std::string with = "token=" + token("/account", with_session(sam));
  EXPECT_EQ(post("/logout", with_session(sam), "token=x").status, 403);
  const ApiResponse out = post("/logout", with_session(sam), with);
  EXPECT_EQ(out.location, "/login?said=logged-out");
  EXPECT_THAT(set_cookies(out), HasSubstr("Max-Age=0"));
  EXPECT_EQ(get("/", with_session(sam)).status, 303);
  EXPECT_EQ(get("/", with_session(ann)).status, 200);
}

TEST_F(LoginPages, an_account_says_where_one_is_logged_in_and_ends_it_there) {
  const std::string other = kit.log_in("Sam", kSamsPassword, "198.51.100.1").session;
  const std::string page = get("/account", with_session(sam)).body;
  EXPECT_THAT(page, AllOf(HasSubstr("198.51.100.1"), HasSubstr("192.0.2.7 <span class=\"strong\">(here)")));
  EXPECT_EQ(PageCheck(page).fault(), "");
  const std::string with = "token=" + token("/account", with_session(sam));
  EXPECT_EQ(post("/account/log-out-elsewhere", with_session(sam), with).location, "/account?said=elsewhere");
  EXPECT_EQ(get("/", with_session(other)).status, 303);
  EXPECT_EQ(get("/", with_session(sam)).status, 200);
}

TEST_F(LoginPages, a_password_is_changed_by_who_knows_the_old_one) {
  const std::string with = "token=" + token("/account", with_session(ann));
  const auto change = [&](const std::string& old, const std::string& fresh, const std::string& again) {
    return post("/account/password", with_session(ann),
                with + "&old=" + percent_encoded(old) + "&password=" + percent_encoded(fresh) +
                    "&again=" + percent_encoded(again));
  };
  const std::string fresh = "pears beside the long wall";
  EXPECT_EQ(change("not this one", fresh, fresh).status, 403);
  EXPECT_THAT(change(kAnnsPassword, fresh, fresh + "s").body, HasSubstr("not the same"));
  EXPECT_THAT(change(kAnnsPassword, "short", "short").body, HasSubstr("10 characters"));
  const ApiResponse changed = change(kAnnsPassword, fresh, fresh);
  EXPECT_EQ(changed.location, "/account?said=changed");
  EXPECT_EQ(get("/", with_session(ann)).status, 200);
  EXPECT_EQ(log_in("Ann", kAnnsPassword).status, 403);
  EXPECT_EQ(log_in("Ann", fresh).status, 303);
}

TEST_F(LoginPages, a_link_is_made_shown_once_and_ended) {
  const std::string with = "token=" + token("/share", with_session(sam));
  const ApiResponse made = post("/share", with_session(sam), with + "&label=Neighbour&days=7");
  EXPECT_EQ(made.status, 200);
  EXPECT_EQ(PageCheck(made.body).fault(), "");
  const std::string before = "http://garden.example/link/";
  const auto at = made.body.find(before);
  ASSERT_NE(at, std::string::npos);
  const std::string secret = made.body.substr(at + before.size(), 43);
  const std::string list = get("/share", with_session(sam)).body;
  EXPECT_THAT(list, AllOf(HasSubstr("Neighbour"), Not(HasSubstr(secret))));
  const ApiResponse opened = get("/link/" + secret, tcp());
  EXPECT_EQ(opened.location, "/");
  ASSERT_EQ(cookie_set(opened, kLinkCookie), secret);
  EXPECT_EQ(get("/", with_link(secret)).status, 200);
  const std::string id = kit.logins->shares().front().id;
  EXPECT_EQ(post("/share/" + id + "/end", with_session(sam), with).location, "/share?said=ended");
  EXPECT_EQ(get("/", with_link(secret)).status, 303);
  EXPECT_EQ(get("/link/" + secret, tcp()).status, 404);
  EXPECT_EQ(post("/share", with_session(sam), with + "&days=400").status, 400);
}

TEST(FirstSetUp, is_done_once_with_the_code) {
  LoginWebKit kit;
  const Asker here = tcp("127.0.0.1");
  EXPECT_THAT(kit.get("/", here).body, HasSubstr("href=\"/set-up\""));
  EXPECT_EQ(kit.get("/set-up", tcp()).status, 200) << "it says nothing, and takes the code alone";
  EXPECT_EQ(kit.get("/", tcp()).status, 303);
  const std::string code = kit.kit.logins->code(), with = "token=" + kit.token("/set-up", here);
  const auto set_up = [&](const std::string& typed, const std::string& again) {
    return kit.post("/set-up", here,
                    with + "&name=Sam&code=" + typed + "&password=" + percent_encoded(kSamsPassword) +
                        "&again=" + percent_encoded(again));
  };
  EXPECT_EQ(set_up("AAAA-AAAA-AAAA", kSamsPassword).status, 403);
  EXPECT_EQ(set_up(code, "another").status, 403);
  EXPECT_FALSE(kit.kit.logins->anybody());
  const ApiResponse in = set_up(code, kSamsPassword);
  EXPECT_EQ(in.status, 303);
  EXPECT_EQ(kit.get("/", with_session(cookie_set(in, kSessionCookie))).status, 200);
  EXPECT_EQ(kit.get("/", here).status, 303) << "the machine itself logs in from now on";
  EXPECT_EQ(kit.get("/set-up", here).status, 409);
  EXPECT_EQ(set_up(code, kSamsPassword).status, 409);
}

TEST(LoginDamaged, opens_nothing_and_says_what_to_do) {
  LoginWebKit kit;
  kit.kit.directory.write("people.json", "{");
  kit.kit.reopen();
  Api api(kit.site, kit.kit.logins.get());
  std::optional<ApiResponse> page;
  api.handle({"GET", "/login", {}, "", tcp("127.0.0.1")},
             [&](ApiResponse answer) { page = std::move(answer); });
  EXPECT_EQ(page->status, 503);
  EXPECT_THAT(page->body, HasSubstr("coilward person"));
}

TEST(LoginLive, an_answer_without_an_end_ends_with_its_session) {
  LoginWebKit kit;
  kit.let_in_both();
  const ApiResponse live = kit.get("/events", with_session(kit.ann));
  ASSERT_TRUE(live.live);
  EXPECT_TRUE(live.welcome());
  kit.kit.logins->log_out(kit.ann, [](const Result<bool>&) {});
  EXPECT_FALSE(live.welcome());
}

TEST(LoginHealth, a_stranger_learns_whether_and_not_what) {
  LoginWebKit kit;
  kit.let_in_both();
  kit.site.stages = {{"broker", false, "no route to the broker", kNever}};
  const ApiResponse strange = kit.get("/healthz", tcp());
  EXPECT_EQ(strange.status, 503);
  EXPECT_EQ(Json::parse(strange.body), Json({{"ok", false}}));
  EXPECT_THAT(kit.get("/healthz", with_session(kit.ann)).body, HasSubstr("no route"));
}

TEST(PeopleRoutes, are_for_the_machine_itself) {
  LoginWebKit kit;
  const Asker here{true};
  EXPECT_EQ(Json::parse(kit.get("/api/v1/people", here).body)["set_up_code"], kit.kit.logins->code());
  const std::string sam = R"({"name":"Sam","role":"technician","password":"wet boots at box B"})";
  EXPECT_EQ(kit.post("/api/v1/people", here, sam).status, 200);
  EXPECT_EQ(kit.post("/api/v1/people", here, sam).status, 409);
  EXPECT_EQ(kit.post("/api/v1/people", here, R"({"name":"Eve","role":"queen","password":"x"})").status, 400);
  const std::string people = kit.get("/api/v1/people", here).body;
  EXPECT_THAT(people, AllOf(HasSubstr("Sam"), Not(HasSubstr("argon2")), Not(HasSubstr("set_up_code"))));
  EXPECT_EQ(kit.post("/api/v1/people/Sam/password", here, R"({"password":"roses and apple trees"})").status,
            200);
  EXPECT_FALSE(kit.kit.log_in("Sam", kAnnsPassword).session.empty());
  EXPECT_EQ(kit.post("/api/v1/people/Sam/remove", here, "").status, 409);
  const Json made = Json::parse(kit.post("/api/v1/shares", here, R"({"label":"Bo","days":1})").body);
  EXPECT_EQ(kit.get(made["path"], tcp()).status, 303);
  EXPECT_EQ(kit.post("/api/v1/shares/" + made["id"].get<std::string>() + "/end", here, "").status, 200);
  EXPECT_EQ(kit.get(made["path"], tcp()).status, 404);
}

}  // namespace
}  // namespace coilward
