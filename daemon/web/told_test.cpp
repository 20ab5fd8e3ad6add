// The page "Who is told", its forms, and what a phone's browser loads beside it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

class Told : public ::testing::Test {
 protected:
  Told() { site.notifiers_ = {{"phones <1>", "webpush"}, {"mail", "email", Severity::soon}}; }
  std::optional<ApiResponse> ask(const std::string& method, const std::string& path,
                                 const std::string& body = "") {
    answered.reset();
    api.handle({method, path, {}, body}, [&](ApiResponse answer) { answered = std::move(answer); });
    return answered;
  }
  std::string page() {
    const auto answer = ask("GET", "/told");
    EXPECT_EQ(answer.value().status, 200);
    EXPECT_EQ(PageCheck(answer->body).fault(), "");
    return answer->body;
  }
  std::string token() {
    const std::string text = page(), before = "name=\"token\" value=\"";
    return "token=" + text.substr(text.find(before) + before.size(), 32);
  }
  WebTestSite site;
  Api api{site};
  std::optional<ApiResponse> answered;
};

TEST_F(Told, each_way_shows_how_it_does_in_the_other_sides_words) {
  site.notifiers_[1] = {"mail",
                        "email",
                        Severity::soon,
                        false,
                        "4 failures in a row; it said: <b>no</b>",
                        3,
                        2,
                        test_now(),
                        "535 bad login",
                        test_now(),
                        false,
                        "535 5.7.8 \"who\" are you"};
  const std::string text = page();
  for (const char* part :
       {"<h2>", "phones &lt;1&gt;", "By webpush, from severity watch on", "Sound.", "Nothing was to be sent",
        "By email, from severity soon on", "In trouble:", "Not delivered since coilward started: 2.",
        "&lt;b&gt;no&lt;/b&gt;", "The test failed", "535 5.7.8 &quot;who&quot; are you"})
    EXPECT_THAT(text, HasSubstr(part));
  site.notifiers_.clear();
  EXPECT_THAT(page(), HasSubstr("Nobody: no notifier is configured."));
}

TEST_F(Told, only_webpush_has_phones) {
  site.notifiers_.erase(site.notifiers_.begin());
  EXPECT_THAT(page(), Not(HasSubstr("Tell this phone")));
}

TEST_F(Told, a_test_is_answered_when_the_other_side_has) {
  EXPECT_FALSE(ask("POST", "/told/mail/test", token()));
  ASSERT_TRUE(site.waiting_alert);
  site.waiting_alert();
  EXPECT_EQ(answered.value().status, 303);
  EXPECT_EQ(answered->location, "/told?said=tested");
  EXPECT_EQ(ask("POST", "/told/nobody/test", token())->status, 404);
}

TEST_F(Told, phones_come_and_go_by_forms_of_ours_alone) {
  const std::string phone =
      "&endpoint=https%3A%2F%2Fpush.example%2Fa&p256dh=B&auth=A&label=Anna%27s+%3Cphone%3E";
  const std::string remove = "/told/phones <1>/phones/0123456789abcdef/remove";
  EXPECT_EQ(ask("POST", "/told/phones <1>/phones", phone.substr(1))->status, 403);
  EXPECT_EQ(ask("GET", "/told/phones <1>/phones")->status, 405);
  EXPECT_TRUE(site.desk.phones_.empty());
  EXPECT_EQ(ask("POST", "/told/phones <1>/phones", token() + phone)->location, "/told?said=phone_added");
  const std::string text = page();
  EXPECT_THAT(text, HasSubstr("Anna&#39;s &lt;phone&gt;"));
  EXPECT_THAT(text, HasSubstr("/told/phones%20%3C1%3E/phones/0123456789abcdef/remove"));
  EXPECT_EQ(ask("POST", remove, "token=")->status, 403);
  EXPECT_EQ(ask("GET", remove)->status, 405);
  EXPECT_EQ(site.desk.phones_.size(), 1u);
  EXPECT_EQ(ask("POST", remove, token())->location, "/told?said=phone_removed");
  EXPECT_EQ(ask("POST", remove, token())->status, 404);
  EXPECT_EQ(ask("POST", "/told/phones <1>/phones", token())->status, 400);
}

TEST_F(Told, the_worker_is_at_the_root_and_is_asked_for_anew) {
  const ApiResponse worker = ask("GET", "/worker.js").value();
  EXPECT_EQ(worker.content_type, "text/javascript; charset=utf-8");
  EXPECT_EQ(worker.cache, "no-cache");
  EXPECT_THAT(worker.body, HasSubstr("showNotification"));
  const Json manifest = Json::parse(ask("GET", "/app.webmanifest")->body);
  EXPECT_EQ(manifest["display"], "standalone");
  EXPECT_THAT(page(), HasSubstr("href=\"/app.webmanifest\""));
}

}  // namespace
}  // namespace coilward
