#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/site_location.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

class LocateRoutes : public ::testing::Test {
 protected:
  LocateRoutes() { site.findings_ = {web_test_finding()}; }
  ApiResponse ask(const std::string& method, const std::string& what, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path + what, {}, body}, [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  Json get(const std::string& what) {
    const ApiResponse response = ask("GET", what);
    EXPECT_EQ(response.status, 200) << response.body;
    return Json::parse(response.body, nullptr, false);
  }

  const std::string path = "/api/v1/findings/20260504-061209-z4-open_circuit";
  WebTestSite site;
  Api api{site};
};

std::vector<std::string> names_of(const Json& json) {
  std::vector<std::string> names;
  for (const auto& [name, value] : json.items()) names.push_back(name);
  return names;
}

TEST_F(LocateRoutes, places_have_the_shape_of_the_contract) {
  const Json places = get("/places");
  EXPECT_EQ(names_of(places), (std::vector<std::string>{"finding", "zone", "solved", "places", "next"}));
  EXPECT_EQ(places["zone"], 4);
  EXPECT_EQ(places["solved"], false);
  double sum = 0;
  for (const Json& place : places["places"]) sum += place["probability"].get<double>();
  EXPECT_NEAR(sum, 1, 1e-4);
  EXPECT_EQ(names_of(places["next"]),
            (std::vector<std::string>{"reading", "zone", "at", "minutes", "expect", "caution"}));
  site.findings_[0].fault = Fault::failed_common;
  EXPECT_EQ(get("/places")["places"][0]["conductor"], "common");
  site.findings_[0].fault = Fault::sensor_fault;
  EXPECT_EQ(get("/places")["places"], Json::array());
  EXPECT_TRUE(get("/places")["next"].is_null());
}

TEST_F(LocateRoutes, a_reading_is_kept_and_moves_the_places) {
  const ApiResponse kept = ask("POST", "/test-readings", R"({"at": "A", "volts_on": 26.1, "by": "Ana"})");
  ASSERT_EQ(kept.status, 200) << kept.body;
  const Json answer = Json::parse(kept.body);
  EXPECT_EQ(answer["explained"], true);
  EXPECT_EQ(answer["words"], "");
  EXPECT_EQ(answer["reading"]["volts_on"], 26.1);
  ASSERT_EQ(site.kept_rows.size(), 1u);
  EXPECT_EQ(site.kept_rows[0].finding, site.findings_[0].id);
  Json places = get("/places");
  EXPECT_EQ(answer["places"], places["places"]);
  for (const Json& place : places["places"]) EXPECT_NE(place["kind"], "controller");
  const Json list = get("/test-readings");
  EXPECT_EQ(list["readings"].size(), 1u);
  EXPECT_EQ(list["readings"][0]["by"], "Ana");
  EXPECT_EQ(list["readings"][0]["counts"], true);
  EXPECT_EQ(list["readings"][0]["explained"], true);
}

TEST_F(LocateRoutes, what_no_place_explains_is_kept_and_said) {
  const ApiResponse kept = ask("POST", "/test-readings", R"({"at": "A", "volts_on": 12})");
  EXPECT_EQ(kept.status, 200);
  const Json answer = Json::parse(kept.body);
  EXPECT_EQ(answer["explained"], false);
  EXPECT_NE(answer["words"].get<std::string>().find("No place explains this reading"), std::string::npos);
  EXPECT_EQ(site.kept_rows.size(), 1u);
  EXPECT_EQ(get("/test-readings")["readings"][0]["explained"], false);
  EXPECT_EQ(get("/places")["solved"], false);
}

TEST_F(LocateRoutes, what_cannot_be_is_refused_and_not_kept) {
  for (const char* body :
       {R"({"at": "Z", "volts_on": 26})", R"({"at": "A"})", R"({"at": "A", "volts_on": 230})",
        R"({"at": "A", "ohms": 3})", R"({"at": "A", "volts": 26})", "[]", R"({"at": "A", "volts_on": null})",
        R"({"at": 7, "volts_on": 26})"})
    EXPECT_EQ(ask("POST", "/test-readings", body).status, 400) << body;
  EXPECT_TRUE(site.kept_rows.empty());
  site.findings_.clear();
  EXPECT_EQ(ask("POST", "/test-readings", R"({"at": "A", "volts_on": 26})").status, 404);
  EXPECT_EQ(ask("GET", "/test-readings").status, 404);
}

TEST_F(LocateRoutes, a_repair_puts_earlier_readings_aside_until_a_run_proves_it) {
  const Json before = get("/places");
  ASSERT_EQ(ask("POST", "/test-readings", R"({"at": "A", "volts_on": 0.1})").status, 200);
  EXPECT_NE(get("/places")["places"], before["places"]);
  for (const auto& mark : repair_marks(site.findings_, site.config(), 4, "Ana", test_now()))
    site.kept_rows.push_back(mark);
  EXPECT_EQ(get("/places")["places"], before["places"]);
  Json list = get("/test-readings");
  EXPECT_EQ(list["readings"][0]["counts"], false);
  EXPECT_FALSE(list["repaired"].is_null());
  EXPECT_TRUE(list["proved"].is_null());
  site.findings_[0].evidence[0].run = test_now() + std::chrono::hours{1};
  EXPECT_EQ(get("/test-readings")["proved"], false);
  site.findings_[0].closed = test_now() + std::chrono::hours{2};
  EXPECT_EQ(get("/test-readings")["proved"], true);
}

TEST_F(LocateRoutes, a_repair_marks_the_findings_it_is_about) {
  EXPECT_EQ(repair_marks(site.findings_, site.config(), 1, "", test_now()).size(), 0u);
  EXPECT_EQ(repair_marks(site.findings_, site.config(), std::string("main"), "", test_now()).size(), 1u);
  site.findings_[0].closed = test_now();
  EXPECT_EQ(repair_marks(site.findings_, site.config(), 4, "", test_now()).size(), 0u);
}

TEST_F(LocateRoutes, neighbours_speak_by_their_latest_run) {
  std::vector<ZoneState> zones = site.zones();
  const Finding& finding = site.findings_[0];
  EXPECT_TRUE(neighbours_of(zones, finding).empty());
  coilward::Run run;
  run.zone = 1;
  run.start = finding.opened + std::chrono::minutes{5};
  run.hold_amps = 0.23;
  zones[0].last_run = zones[1].last_run = run;
  auto list = neighbours_of(zones, finding);
  ASSERT_EQ(list.size(), 1u);  // not the finding's own
  EXPECT_TRUE(list[0].draws && list[0].since);
  zones[0].last_run->start = finding.opened - std::chrono::minutes{5};
  zones[0].last_run->hold_amps = 0.01;
  list = neighbours_of(zones, finding);
  EXPECT_FALSE(list[0].draws || list[0].since);
}

}  // namespace
}  // namespace coilward
