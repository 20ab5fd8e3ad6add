// The way from a finding to the place on its page: what to measure, entering it, what that made of the
// places, and how the finding came to be what it is.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/web/api.h"
#include "daemon/web/finding_changes.h"
#include "daemon/web/page_check.h"
#include "daemon/web/reading_forms.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

class OnTheWay : public ::testing::Test {
 protected:
  OnTheWay() { site.findings_ = {web_test_finding()}; }
  ApiResponse ask(const std::string& method, const std::string& path, const std::string& body = "") {
    std::optional<ApiResponse> response;
    api.handle({method, path, {}, body}, [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  std::string page() {
    const ApiResponse response = ask("GET", finding);
    EXPECT_EQ(response.status, 200);
    EXPECT_EQ(PageCheck(response.body).fault(), "");
    return response.body;
  }
  ApiResponse enter(const std::string& fields) {
    const std::string text = page();
    const auto at = text.find("name=\"token\" value=\"") + 20;
    return ask("POST", finding + "/test-reading", "token=" + text.substr(at, 32) + "&" + fields);
  }
  const std::string finding = "/finding/20260504-061209-z4-open_circuit";
  WebTestSite site;
  Api api{site};
};

TEST_F(OnTheWay, the_next_reading_is_proposed_with_what_it_will_show_and_a_caution) {
  const std::string text = page();
  for (const char* part :
       {"<h2>Next test</h2>", "With zone 4 on, measure the volts", " volts</strong>: the fault is ",
        "Take care.", "Nothing was measured in the field yet.", "id=\"enter-volts\" open",
        "<option value=\"controller\"", "name=\"volts_to_earth\""})
    EXPECT_THAT(text, HasSubstr(part));
}

TEST_F(OnTheWay, what_was_entered_is_listed_and_moves_the_places) {
  const ApiResponse done = enter("at=A&volts_on=26%2C1&by=Ana+%3Cb%3E");
  EXPECT_EQ(done.status, 303) << done.body;
  EXPECT_EQ(done.location, finding + "?said=measured#measured");
  ASSERT_EQ(site.kept_rows.size(), 1u);
  EXPECT_EQ(Json::parse(site.kept_rows[0].json)["volts_on"], 26.1);
  const std::string text = page();
  for (const char* part : {"26.1 V, zone on", "Ana &lt;b&gt;", "Before the last reading", ">fits<"})
    EXPECT_THAT(text, HasSubstr(part));
}

TEST_F(OnTheWay, every_kind_of_reading_can_be_entered) {
  EXPECT_EQ(enter("at=A&ohms=OL&toward=valve").status, 303);
  EXPECT_EQ(enter("at=A&source_volts=40&volts_to_earth=0.2&conductor=zone").status, 303);
  EXPECT_THAT(page(), HasSubstr("no path toward the valve"));
  EXPECT_THAT(page(), HasSubstr("0.2 V to earth, 40 V source on the zone wire"));
}

TEST_F(OnTheWay, contradictions_are_said_and_kept) {
  EXPECT_EQ(enter("at=A&volts_on=12").status, 303);
  EXPECT_EQ(enter("at=A&volts_on=27").status, 303);
  EXPECT_EQ(site.kept_rows.size(), 2u);
  const std::string text = page();
  EXPECT_THAT(text, HasSubstr("27 V, zone on"));
  EXPECT_THAT(text, HasSubstr("12 V, zone on<br><span class=\"soft\">no place explains it"));
  EXPECT_THAT(text, HasSubstr("<p class=\"care\">No place explains this reading"));
}

TEST_F(OnTheWay, what_cannot_be_is_refused_and_not_kept) {
  for (const char* wrong :
       {"at=A&volts_on=twelve", "at=Z&volts_on=12", "at=A", "at=A&volts_on=500",
        "at=A&volts_on=12&ohms=3&toward=valve",
        "at=controller&source_volts=40&volts_to_earth=1&conductor=zone", "at=A&volts_on=12V"})
    EXPECT_EQ(enter(wrong).status, 400) << wrong;
  EXPECT_EQ(ask("POST", finding + "/test-reading", "at=A&volts_on=12").status, 403);
  EXPECT_TRUE(site.kept_rows.empty());
}

TEST_F(OnTheWay, a_finding_that_is_over_takes_no_more) {
  enter("at=A&volts_on=26");
  site.findings_[0].closed = test_now();
  EXPECT_THAT(page(), HasSubstr("26 V, zone on"));
  EXPECT_THAT(page(), Not(HasSubstr("Enter it</button>")));
}

TEST_F(OnTheWay, one_without_a_place_asks_for_nothing) {
  site.findings_[0].fault = Fault::sensor_fault;
  EXPECT_THAT(page(), Not(HasSubstr("Enter it</button>")));
  EXPECT_THAT(page(), HasSubstr("between the controller and box A: <strong>61 in 100</strong>"));
}

TEST_F(OnTheWay, how_it_was_judged_is_told_form_by_form) {
  EXPECT_THAT(page(), Not(HasSubstr("How it was judged")));
  Finding first = site.findings_[0], second = first;
  first.fault = Fault::high_resistance;
  first.probability = 0.7;
  first.severity = Severity::soon;
  second.updated += std::chrono::minutes{5};
  site.changes = {{first.updated, first}, {second.updated, second}};
  const std::string text = page();
  for (const char* part : {"How it was judged", ">found<", ">70<", "Urgent; surer"})
    EXPECT_THAT(text, HasSubstr(part));
  const Json json = Json::parse(ask("GET", "/api/v1/findings/20260504-061209-z4-open_circuit/changes").body);
  EXPECT_EQ(json["changes"].size(), 2u);
  EXPECT_EQ(json["changes"][0]["fault"], "high_resistance");
}

TEST(ChangeWords, say_what_is_another) {
  Finding before = web_test_finding(), now = before;
  EXPECT_EQ(change_words(before, now), "");
  now.zones = {4, 5};
  now.probability = 0.5;
  now.where = {{"A", "B", 0.9}};
  EXPECT_EQ(change_words(before, now), "zones 4, 5; less sure; between box A and box B");
  before = now;
  now.closed = test_now();
  now.close_reason = "repaired: it draws normally";
  EXPECT_EQ(change_words(before, now), "over: repaired: it draws normally");
}

}  // namespace
}  // namespace coilward
