// Asking for a test run on the page: what it says, what it wants confirmed, what it refuses.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/requests/test_runs.h"
#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using std::chrono::seconds;
using testing::HasSubstr;
using testing::Not;

class AskedOnPage : public ::testing::Test {
 protected:
  AskedOnPage() { site.runs_allowed = true; }
  ApiResponse ask(const std::string& method, const std::string& path, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, {}, body}, [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  std::string page(const std::string& path) {
    const ApiResponse response = ask("GET", path);
    EXPECT_EQ(PageCheck(response.body).fault(), "");
    return response.body;
  }
  std::string token() {
    const std::string text = page("/zone/4/test-run");
    return text.substr(text.find("name=\"token\" value=\"") + 20, 32);
  }
  WebTestSite site;
  Api api{site};
};

TEST_F(AskedOnPage, where_it_is_not_allowed_nothing_offers_it) {
  site.runs_allowed = false;
  EXPECT_EQ(ask("GET", "/zone/4/test-run").status, 409);
  EXPECT_THAT(page("/zone/4/live"), Not(HasSubstr("/test-run")));
}

TEST_F(AskedOnPage, the_page_says_what_to_mind_and_two_minutes_are_usual) {
  const std::string text = page("/zone/4/test-run");
  for (const char* part :
       {"Water will run.", "licensed electrician", "<option value=\"120\" selected>2 minutes<",
        "<option value=\"600\">10 minutes<", "name=\"confirm\" value=\"yes\" required"})
    EXPECT_THAT(text, HasSubstr(part));
  EXPECT_EQ(ask("GET", "/zone/9/test-run").status, 404);
  EXPECT_EQ(ask("GET", "/zone/0/test-run").status, 404);
}

TEST_F(AskedOnPage, it_wants_the_tick_and_the_token_and_a_time_that_can_be) {
  const std::string with = "token=" + token();
  EXPECT_EQ(ask("POST", "/zone/4/test-run", with + "&seconds=60").status, 400);
  EXPECT_EQ(ask("POST", "/zone/4/test-run", with + "&confirm=yes&seconds=601").status, 400);
  EXPECT_EQ(ask("POST", "/zone/4/test-run", with + "&confirm=yes&seconds=1").status, 400);
  EXPECT_EQ(ask("POST", "/zone/4/test-run", "confirm=yes&seconds=60").status, 403);
  EXPECT_EQ(ask("GET", "/zone/4/test-run/end").status, 405);
  EXPECT_TRUE(site.runs.all().empty());
}

TEST_F(AskedOnPage, a_test_is_shown_where_the_draw_is_until_it_is_over) {
  const std::string with = "token=" + token();
  const ApiResponse asked = ask("POST", "/zone/4/test-run", with + "&confirm=yes&seconds=60&by=Ana");
  EXPECT_EQ(asked.status, 303) << asked.body;
  EXPECT_EQ(asked.location, "/zone/4/live?said=asked");
  EXPECT_EQ(site.runs.all().front().who, "Ana");
  EXPECT_THAT(page("/zone/4/live"), HasSubstr("nothing is heard yet"));
  EXPECT_THAT(page("/zone/4/live"), HasSubstr("action=\"/zone/4/test-run/end\""));
  EXPECT_THAT(page("/zone/1/live"), Not(HasSubstr("nothing is heard yet")));
  site.time += seconds{25};
  EXPECT_THAT(page("/zone/4/live"), HasSubstr("Heard nothing"));
  EXPECT_THAT(ask("GET", "/api/v1/zones/4/now").body, HasSubstr("Heard nothing"));
  EXPECT_EQ(Json::parse(ask("GET", "/api/v1/test-runs").body)["test_runs"][0]["stage"], "unheard");
  EXPECT_EQ(ask("POST", "/zone/1/test-run", with + "&confirm=yes").status, 409);
  EXPECT_EQ(ask("POST", "/zone/4/test-run/end", with).status, 303);
  site.time += seconds{120};
  EXPECT_THAT(page("/zone/4/live"), Not(HasSubstr("test-run/end")));
  EXPECT_THAT(page("/zone/4/test-run"), HasSubstr("nothing was heard"));
}

}  // namespace
}  // namespace coilward
