// Pages as text: escaping, times through a night when the clocks change, sites without boxes, what is asked
// for wrongly.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

Run run_at(const char* start, double amps = 0.231, int zone = 4) {
  Run run;
  run.zone = zone;
  run.start = *parse_rfc3339(start);
  run.end = run.start + std::chrono::minutes{10};
  run.ended = RunEnd::switched_off;
  run.hold_amps = amps;
  run.inrush_amps = 0.4;
  return run;
}

class Pages : public ::testing::Test {
 protected:
  ApiResponse get(const std::string& path, std::map<std::string, std::string> query = {}) {
    std::optional<ApiResponse> response;
    api.handle({"GET", path, std::move(query), ""},
               [&](ApiResponse answer) { response = std::move(answer); });
    EXPECT_TRUE(response.has_value()) << path;
    EXPECT_EQ(response->content_type, "text/html; charset=utf-8") << path;
    EXPECT_EQ(PageCheck(response->body).fault(), "") << path;
    return *response;
  }
  std::string page(const std::string& path, std::map<std::string, std::string> query = {}) {
    const ApiResponse response = get(path, std::move(query));
    EXPECT_EQ(response.status, 200) << path;
    return response.body;
  }
  WebTestSite site;
  Api api{site};
};

TEST_F(Pages, one_glance_says_fine_or_what_is_dead) {
  EXPECT_THAT(page("/"), HasSubstr("<h1>All is well</h1>"));
  site.findings_ = {web_test_finding()};
  EXPECT_THAT(page("/"),
              HasSubstr("<h1>Zone 4 (East &lt;hedge&gt; &amp; &quot;lawn&quot;) is not watering</h1>"));
}

TEST_F(Pages, nothing_known_is_not_told_as_fine) {
  site.edit_zones()[0].state = "silent";
  EXPECT_THAT(page("/"), HasSubstr("1 of 2 sensors are silent"));
  site.edit_zones()[0].state = "learning";
  EXPECT_THAT(page("/"), HasSubstr("Still learning 1 of 2 zones."));
  site.stages = {{"broker", false, "no connection since 12:00", kNever}};
  EXPECT_THAT(page("/"), HasSubstr("<h1>Coilward itself is in trouble</h1>"));
}

TEST_F(Pages, what_others_wrote_stays_text) {
  site.findings_ = {web_test_finding()};
  site.findings_[0].where[0].to = "A";
  site.edit_config().boxes[0].id = "A<script>";
  site.edit_config().site.name = "<img src=x>";
  site.stages = {{"broker", false, "it said <b>\"no\"</b> & 'left'", kNever}};
  for (const std::string& path :
       {std::string("/"), std::string("/zone/4"), "/finding/" + site.findings_[0].id}) {
    const std::string text = page(path);
    for (const char* raw : {"<hedge>", "<when>", "A<script>", "<img", "<b>"})
      EXPECT_THAT(text, Not(HasSubstr(raw))) << path;
  }
  EXPECT_THAT(page("/finding/" + site.findings_[0].id), HasSubstr("&lt;when&gt;"));
}

TEST_F(Pages, no_inline_script_and_nothing_from_elsewhere) {
  for (const char* path : {"/", "/zone/4"}) {
    const std::string text = page(path);
    for (const char* wrong : {"<script>", "onclick", "style=\"", "http://", "https://", "//cdn"})
      EXPECT_THAT(text, Not(HasSubstr(wrong))) << path;
    EXPECT_THAT(text, HasSubstr("<script defer src=\"/assets/live.js?v="));
  }
}

TEST_F(Pages, without_boxes_zones_hang_on_the_controller) {
  site.edit_config().boxes.clear();
  for (ZoneConfig& zone : site.edit_config().zones) zone.box = -1;
  const std::string text = page("/");
  EXPECT_THAT(text, HasSubstr("No boxes are configured"));
  EXPECT_THAT(text, Not(HasSubstr("class=\"stretch")));
  EXPECT_THAT(text, HasSubstr("data-zone=\"4\""));
}

TEST_F(Pages, lengths_are_in_feet_where_the_site_says_so) {
  EXPECT_THAT(page("/"), HasSubstr("18 m"));
  site.edit_config().site.feet = true;
  EXPECT_THAT(page("/"), HasSubstr("59 ft"));
}

// America/Boise goes back an hour at 2026-11-01T08:00Z.
TEST_F(Pages, the_hour_that_comes_twice_is_told_apart) {
  site.time = *parse_rfc3339("2026-11-01T09:00:00Z");
  site.keep({}, {run_at("2026-11-01T07:30:00Z"), run_at("2026-11-01T08:30:00Z")});
  const std::string text = page("/zone/4", {{"range", "day"}});
  EXPECT_THAT(text, HasSubstr(">1 Nov 01:30 MDT<"));
  EXPECT_THAT(text, HasSubstr(">1 Nov 01:30 MST<"));
  EXPECT_THAT(text, HasSubstr("Sat 31 Oct 2026 03:00 MDT"));
}

// And forward at 2026-03-08T09:00Z: there is no time between 02:00 and 03:00, and the day has 23 hours.
TEST_F(Pages, the_hour_that_never_comes_is_left_out) {
  site.time = *parse_rfc3339("2026-03-08T18:00:00Z");
  site.keep({}, {run_at("2026-03-08T08:59:00Z"), run_at("2026-03-08T09:01:00Z")});
  const std::string text = page("/zone/4", {{"range", "day"}});
  EXPECT_THAT(text, HasSubstr(">8 Mar 01:59 MST<"));
  EXPECT_THAT(text, HasSubstr(">8 Mar 03:01 MDT<"));
  EXPECT_THAT(text, HasSubstr("Sat 7 Mar 2026 11:00 MST"));
  EXPECT_THAT(text, HasSubstr("Sun 8 Mar 2026 12:00 MDT"));
  EXPECT_THAT(text, Not(HasSubstr("8 Mar 02:")));
}

TEST_F(Pages, runs_not_committed_yet_come_first_and_once) {
  site.keep({}, {run_at("2026-05-03T06:00:00Z", 0.210), run_at("2026-05-04T06:00:00Z", 0.220)});
  site.waiting_runs = {run_at("2026-05-04T06:00:00Z", 0.225), run_at("2026-05-04T11:00:00Z", 0.230),
                       run_at("2026-05-04T11:30:00Z", 0.5, 1)};
  const std::string text = page("/zone/4");
  EXPECT_THAT(text, testing::ContainsRegex("0\\.230 A(.|\n)*0\\.225 A(.|\n)*0\\.210 A"));
  EXPECT_THAT(text, Not(HasSubstr("0.220 A")));
  EXPECT_THAT(text, Not(HasSubstr("0.500 A</td>")));
}

TEST_F(Pages, a_zone_shows_its_course_band_and_marks_without_a_script) {
  std::vector<Reading> readings;
  const UtcTime start = *parse_rfc3339("2026-05-04T06:00:00Z");
  for (int s = 0; s < 600; ++s)
    readings.push_back(
        {{ChannelKind::zone_current, 4}, start + std::chrono::seconds{s}, 0.23 + 0.001 * (s % 3)});
  site.keep(readings, {run_at("2026-05-04T06:00:00Z")});
  site.findings_ = {web_test_finding()};
  site.findings_[0].opened = start + std::chrono::minutes{1};
  site.findings_[0].closed = start + std::chrono::minutes{9};
  site.findings_[0].close_reason = "repaired: it draws normally";
  const std::string text = page("/zone/4");
  for (const char* part : {"class=\"band\"", "class=\"mean\" d=\"M", "class=\"mark found\"",
                           "class=\"mark repaired\"", ">Repaired. "})
    EXPECT_THAT(text, HasSubstr(part));
  EXPECT_THAT(text, HasSubstr("/api/v1/zones/4/history?since="));
}

TEST_F(Pages, a_chart_asks_for_a_thousand_points_at_most) {
  site.keep({}, {run_at("2026-05-04T06:00:00Z")});
  for (const char* range : {"run", "day", "week", "month", "year"}) {
    const std::string text = page("/zone/4", {{"range", range}});
    const auto number = [&](const std::string& key) {
      const auto at = text.find("&quot;" + key + "&quot;:");
      return std::stod(text.substr(at + key.size() + 13));
    };
    EXPECT_LE((number("until") - number("from")) / number("every"), 1000) << range;
    EXPECT_GT((number("until") - number("from")) / number("every"), 100) << range;
  }
}

TEST_F(Pages, what_is_asked_for_wrongly_is_told_as_a_page) {
  EXPECT_EQ(get("/zone/9").status, 404);
  EXPECT_EQ(get("/zone/four").status, 400);
  EXPECT_EQ(get("/zone/4", {{"range", "decade"}}).status, 400);
  EXPECT_EQ(get("/zone/4", {{"until", "<soon>"}}).status, 400);
  EXPECT_EQ(get("/zone/4", {{"rnage", "day"}}).status, 400);
  EXPECT_EQ(get("/finding/none").status, 404);
  EXPECT_EQ(get("/nothing<here>").status, 404);
}

TEST_F(Pages, a_finding_says_what_where_and_what_next) {
  site.findings_ = {web_test_finding(), web_test_finding("20260401-z4-old")};
  site.findings_[0].alternatives = {{Fault::plunger_not_seated, 0.04}};
  site.findings_[1].closed = test_now();
  const std::string text = page("/finding/" + site.findings_[0].id);
  for (const char* part : {"the zone wire between the controller and box A", "0.214 A to 0.248 A",
                           "a valve that does not open fully: 4 in 100", "Next test", "With zone 4 on,",
                           "Take care.", "licensed electrician", "/finding/20260401-z4-old", "98 in 100"})
    EXPECT_THAT(text, HasSubstr(part));
  const std::string old = page("/finding/20260401-z4-old");
  EXPECT_THAT(old, HasSubstr("<h1>Over: "));
  EXPECT_THAT(old, Not(HasSubstr("Stop the repeats")));
}

TEST_F(Pages, text_that_is_not_utf8_does_not_break_a_page) {
  site.findings_ = {web_test_finding()};
  site.findings_[0].summary = "bad \xff byte";
  site.edit_zones()[0].name = "bad \xff name";
  page("/");
  page("/zone/1");
  page("/finding/" + site.findings_[0].id);
}

}  // namespace
}  // namespace coilward
