#include "daemon/web/api.h"

#include <gtest/gtest.h>

#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

class ApiTest : public ::testing::Test {
 protected:
  ApiResponse ask(const std::string& method, const std::string& path,
                  std::map<std::string, std::string> query = {}, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, std::move(query), body},
               [&](ApiResponse answer) { response = std::move(answer); });
    EXPECT_TRUE(response.has_value()) << method << " " << path;
    return response.value_or(ApiResponse{0});
  }
  Json get(const std::string& path, std::map<std::string, std::string> query = {}) {
    const ApiResponse response = ask("GET", path, std::move(query));
    EXPECT_EQ(response.status, 200) << path << ": " << response.body;
    return Json::parse(response.body, nullptr, false);
  }

  WebTestSite site;
  Api api{site};
};

TEST_F(ApiTest, zones_say_draw_run_and_state) {
  const Json zones = get("/api/v1/zones")["zones"];
  ASSERT_EQ(zones.size(), 2u);
  EXPECT_EQ(zones[1]["zone"], 4);
  EXPECT_EQ(zones[1]["normal"]["hold_amps"], 0.231);
  EXPECT_TRUE(zones[1]["last_run"].is_null());
  EXPECT_EQ(get("/api/v1/zones/4")["box"], "A");
  EXPECT_EQ(ask("GET", "/api/v1/zones/9").status, 404);
  EXPECT_EQ(ask("GET", "/api/v1/zones/four").status, 400);
}

TEST_F(ApiTest, findings_are_open_ones_unless_all_are_asked_for) {
  site.findings_ = {web_test_finding(), web_test_finding("20260503-z1-old")};
  site.findings_[1].closed = test_now();
  EXPECT_EQ(get("/api/v1/findings")["findings"].size(), 1u);
  EXPECT_EQ(get("/api/v1/findings", {{"all", "1"}})["findings"].size(), 2u);
  const Json finding = get("/api/v1/findings/20260504-061209-z4-open_circuit");
  EXPECT_EQ(finding["site"], "juniper-row-12");
  EXPECT_TRUE(finding["acknowledged_by"].is_null());
}

TEST_F(ApiTest, errors_are_problem_json_with_the_reason) {
  const ApiResponse response = ask("GET", "/api/v1/findings/none");
  EXPECT_EQ(response.status, 404);
  EXPECT_EQ(response.content_type, "application/problem+json");
  const Json json = Json::parse(response.body);
  EXPECT_EQ(json["status"], 404);
  EXPECT_EQ(json["detail"], "there is no finding 'none'");
  EXPECT_EQ(ask("GET", "/nowhere").status, 404);
  EXPECT_EQ(ask("GET", "/api/v1/zones/4/").status, 200);  // an end that is nothing changes nothing
}

TEST_F(ApiTest, a_wrong_method_says_what_is_allowed) {
  const ApiResponse response = ask("POST", "/api/v1/zones");
  EXPECT_EQ(response.status, 405);
  EXPECT_EQ(response.allow, "GET");
  EXPECT_EQ(ask("GET", "/api/v1/pause").allow, "POST");
  EXPECT_EQ(ask("HEAD", "/api/v1/zones").status, 200);
}

TEST_F(ApiTest, what_is_misspelt_is_refused) {
  EXPECT_EQ(ask("GET", "/api/v1/runs", {{"untill", "now"}}).status, 400);
  EXPECT_EQ(ask("GET", "/api/v1/findings", {{"all", "yes"}}).status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, R"({"four": "2h"})").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, "[]").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, "{").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/pause", {{"for", "2h"}}).status, 400);
}

TEST_F(ApiTest, acknowledge_keeps_the_name) {
  site.findings_ = {web_test_finding()};
  const std::string path = "/api/v1/findings/20260504-061209-z4-open_circuit";
  EXPECT_EQ(ask("POST", path + "/acknowledge", {}, R"({"by": "Ana"})").status, 200);
  EXPECT_EQ(get(path)["acknowledged_by"], "Ana");
  EXPECT_EQ(ask("POST", path + "/acknowledge", {}, R"({"for": "1h"})").status, 200);
  EXPECT_EQ(site.acknowledged_until(""), test_now() + std::chrono::hours{1});
  EXPECT_EQ(ask("POST", path + "/acknowledge", {}, R"({"until": "morning"})").status, 200);
  EXPECT_GT(site.acknowledged_until(""), test_now());
  EXPECT_EQ(ask("POST", path + "/acknowledge", {}, R"({"until": "never"})").status, 400);
  EXPECT_EQ(ask("POST", path + "/acknowledge", {}, R"({"by": 7})").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/findings/none/acknowledge").status, 404);
}

TEST_F(ApiTest, pause_takes_a_length_or_an_instant) {
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, R"({"for": "2h"})").status, 200);
  EXPECT_EQ(site.paused_until, test_now() + std::chrono::hours{2});
  EXPECT_EQ(site.paused_zone, -1);
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, R"({"until": "2026-05-04T14:00:00Z", "zone": 4})").status, 200);
  EXPECT_EQ(site.paused_zone, 4);
  for (const char* wrong :
       {"{}", R"({"for": "2h", "until": "2026-05-04T14:00:00Z"})", R"({"for": "soon"})",
        R"({"for": "2h", "zone": "4"})", R"({"for": "2h", "zone": 999})", R"({"for": 2})"})
    EXPECT_EQ(ask("POST", "/api/v1/pause", {}, wrong).status, 400) << wrong;
  EXPECT_EQ(ask("POST", "/api/v1/pause", {}, R"({"for": "2h", "zone": 9})").status, 404);
  EXPECT_EQ(ask("POST", "/api/v1/resume").status, 404);
}

TEST_F(ApiTest, repaired_is_one_zone_or_one_common) {
  EXPECT_EQ(ask("POST", "/api/v1/repaired", {}, R"({"zone": 4})").status, 200);
  EXPECT_EQ(std::get<int>(*site.repaired_target), 4);
  EXPECT_EQ(ask("POST", "/api/v1/repaired", {}, R"({"common": "main"})").status, 200);
  EXPECT_EQ(std::get<std::string>(*site.repaired_target), "main");
  EXPECT_FALSE(site.repaired_new_coil);
  EXPECT_EQ(ask("POST", "/api/v1/repaired", {}, R"({"zone": 4, "new_coil": true})").status, 200);
  EXPECT_TRUE(site.repaired_new_coil);
  EXPECT_EQ(ask("POST", "/api/v1/repaired", {}, R"({"zone": 4, "new_coil": "yes"})").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/repaired", {}, R"({"zone": 4, "common": "main"})").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/repaired").status, 400);
}

TEST_F(ApiTest, a_test_alert_answers_when_the_other_side_did) {
  std::optional<ApiResponse> response;
  api.handle({"POST", "/api/v1/test-alert", {}, R"({"notifier": "mail"})"},
             [&](ApiResponse answer) { response = std::move(answer); });
  ASSERT_FALSE(response);
  site.waiting_alert();
  ASSERT_TRUE(response);
  EXPECT_EQ(Json::parse(response->body)["outcome"], "done");
}

TEST_F(ApiTest, a_backup_goes_to_an_absolute_path) {
  EXPECT_EQ(ask("POST", "/api/v1/backup", {}, R"({"directory": "here"})").status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/backup", {}, R"({"directory": "/there"})").status, 409);
}

TEST_F(ApiTest, healthz_is_503_when_a_stage_is_not_sound) {
  EXPECT_EQ(ask("GET", "/healthz").status, 200);
  site.stages.push_back({"history", false, "disk full: 12 kB left", test_now()});
  const ApiResponse response = ask("GET", "/healthz");
  EXPECT_EQ(response.status, 503);
  EXPECT_EQ(Json::parse(response.body)["stages"][1]["why"], "disk full: 12 kB left");
  EXPECT_EQ(get("/api/v1/health")["ok"], false);
}

TEST_F(ApiTest, text_that_is_not_utf8_does_not_break_an_answer) {
  site.findings_ = {web_test_finding()};
  site.findings_[0].summary = "bad \xff byte";
  EXPECT_FALSE(get("/api/v1/findings").is_discarded());
}

}  // namespace
}  // namespace coilward
