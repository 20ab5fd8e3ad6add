// The visit sheet: that it says what, where, what to measure with room for what it shows, what to bring, what
// to mind, and afterwards how the repair went; as a page, as JSON, for one finding and for the site.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <regex>
#include <thread>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/visit_drawings.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

Run drawn_run(const char* start, double amps) {
  Run run;
  run.zone = 4;
  run.start = *parse_rfc3339(start);
  run.end = run.start + std::chrono::minutes{10};
  run.ended = RunEnd::switched_off;
  run.hold_amps = amps;
  return run;
}

class Sheet : public ::testing::Test {
 protected:
  Sheet() {
    site.edit_config().boxes.push_back({"B", "A", 31, 0});
    site.edit_config().zones[1].box = 1;
    site.findings_ = {web_test_finding()};
    site.waiting_runs = {drawn_run("2026-05-02T06:12:00Z", 0.232), drawn_run("2026-05-03T06:12:00Z", 0.229),
                         drawn_run("2026-05-04T06:12:00Z", 0.002)};
  }
  ApiResponse ask(const std::string& path) {
    std::optional<ApiResponse> response;
    api.handle({"GET", path, {}, ""}, [&](ApiResponse answer) { response = std::move(answer); });
    return *response;
  }
  std::string page(const std::string& path) {
    const ApiResponse response = ask(path);
    EXPECT_EQ(response.status, 200) << response.body;
    EXPECT_EQ(PageCheck(response.body).fault(), "") << path;
    return response.body;
  }
  std::string sheet() { return page("/finding/" + site.findings_[0].id + "/sheet"); }
  Json json() { return Json::parse(ask("/api/v1/findings/" + site.findings_[0].id + "/sheet").body); }
  WebTestSite site;
  Api api{site};
};

TEST_F(Sheet, SaysAllThatIsTakenAlong) {
  const std::string text = sheet();
  for (const char* part :
       {"Zone 4 (East &lt;hedge&gt;", "Juniper Row 12", "<h2>Where</h2>", "<h2>Evidence</h2>",
        "<h2>Take care</h2>", "<h2>Bring along</h2>", "<h2>Readings to take, in this order</h2>",
        "<h3>Reading 1, ", "It showed", "<h2>Notes</h2>", "<h2>Repair</h2>",
        "it should draw 0.214 to 0.248 A", "coilward repaired 4", "splice connectors for direct burial"})
    EXPECT_THAT(text, HasSubstr(part));
  for (const char* caution : {"before you reach into a wet box", "licensed electrician",
                              "services located before you dig", "Follow the local codes"})
    EXPECT_THAT(text, HasSubstr(caution));
}

// Each step that a table sends to is there, once.
TEST_F(Sheet, EveryOutcomeLeadsToAStepOrToPlaces) {
  const Json sheet = json();
  ASSERT_FALSE(sheet["steps"].empty());
  std::size_t ends = 0;
  for (const Json& step : sheet["steps"])
    for (const Json& outcome : step["outcomes"]) {
      if (outcome["next_step"].is_null()) {
        EXPECT_FALSE(outcome["places"].empty());
        ++ends;
      } else {
        EXPECT_GT(outcome["next_step"], step["step"]);
        EXPECT_LE(outcome["next_step"], sheet["steps"].size());
      }
    }
  EXPECT_GE(ends, sheet["steps"].size());
}

TEST_F(Sheet, TheSketchMarksThePlacesOfTheTableByNumber) {
  const std::string text = sheet();
  const std::string sketch = text.substr(text.find("class=\"sketch\""),
                                         text.find("class=\"tight\"") - text.find("class=\"sketch\""));
  const Json places = json()["places"];
  std::size_t shown = 0;
  for (const Json& place : places)
    shown += place["probability"] >= kWorthMarkingInSketch && shown < kMarkedPlaces;
  std::size_t numbers = 0;
  for (std::size_t at = 0; (at = sketch.find("<g class=\"number", at)) != std::string::npos; ++at) ++numbers;
  EXPECT_EQ(numbers, shown);
  EXPECT_THAT(sketch, HasSubstr("wire doubt"));
  for (const char* part : {"Controller", "Box A", "Box B", "31 m", "zone 4", "also 1"})
    EXPECT_THAT(sketch, HasSubstr(part));
}

TEST_F(Sheet, TheBarsShowTheLatestRunsAgainstTheBand) {
  const std::string text = sheet();
  const auto count = [&](const std::string& what) {
    std::size_t n = 0;
    for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += what.size()) ++n;
    return n;
  };
  EXPECT_EQ(count("class=\"bar\""), 2U);
  EXPECT_EQ(count("class=\"bar off\""), 1U);
  EXPECT_THAT(text, testing::ContainsRegex(">0\\.232<(.|\n)*>0\\.229<(.|\n)*>0\\.002<"));
  EXPECT_THAT(text, HasSubstr("class=\"hatch\""));
  EXPECT_THAT(text, HasSubstr(">3 May<"));
}

TEST_F(Sheet, WhatWasMeasuredIsListedAndTheStepsBeginAfterIt) {
  const Json before = json();
  site.keep_test_reading(site.findings_[0].id,
                         R"({"zone": 4, "at": "A", "volts_on": 26.4, "by": "Ana <b>"})");
  const std::string text = sheet();
  EXPECT_THAT(text, HasSubstr("<h2>Measured so far</h2>"));
  EXPECT_THAT(text, HasSubstr("26.4 V, zone on"));
  EXPECT_THAT(text, HasSubstr("Ana &lt;b&gt;"));
  EXPECT_NE(json()["places"], before["places"]);
}

TEST_F(Sheet, ARepairIsRecordedWithWhoBeforeFaultAndAfter) {
  Finding& f = site.findings_[0];
  site.kept_rows.push_back(
      {f.id, *parse_rfc3339("2026-05-04T10:00:00Z"), R"({"repaired": true, "by": "Ben"})"});
  f.repair = RepairProof{*parse_rfc3339("2026-05-04T10:00:00Z"), false, std::nullopt, {}, ""};
  EXPECT_THAT(sheet(), HasSubstr("by Ben: <strong>not proved yet"));
  EXPECT_THAT(sheet(), HasSubstr("What was done"));
  RepairedZone zone{4, 0.231, 0.002, 0.12, 0.214, 0.248};
  f.repair = RepairProof{f.repair->marked, false, false, {zone}, "Zone 4 draws 0.120 A."};
  EXPECT_THAT(sheet(), HasSubstr("not repaired"));
  zone.after_amps = 0.229;
  f.repair = RepairProof{f.repair->marked, false, true, {zone}, "Zone 4 draws 0.229 A."};
  f.closed = test_now();
  f.close_reason = "repaired: Zone 4 draws 0.229 A";
  const std::string text = sheet();
  for (const char* part :
       {"by Ben: <strong>proved", "0.231 A", "0.002 A", "0.229 A", "0.214 to 0.248 A", "The finding ended"})
    EXPECT_THAT(text, HasSubstr(part));
  for (const char* gone : {"What was done", "Readings to take", "Bring along"})
    EXPECT_THAT(text, Not(HasSubstr(gone)));
  EXPECT_EQ(json()["repair_record"]["by"], "Ben");
}

TEST_F(Sheet, WithoutBoxesOrAPlaceItSaysWhatIsUsual) {
  site.findings_[0].fault = Fault::sensor_fault;
  site.findings_[0].where.clear();
  const std::string text = sheet();
  EXPECT_THAT(text, HasSubstr("Nothing can be said yet of a place along the wire."));
  EXPECT_FALSE(json()["usual"].get<std::string>().empty());
  EXPECT_THAT(text, HasSubstr("It showed"));
  site.edit_config().boxes.clear();
  for (ZoneConfig& zone : site.edit_config().zones) zone.box = -1;
  site.findings_[0].fault = Fault::open_circuit;
  EXPECT_THAT(sheet(), HasSubstr(">Valve<"));
}

TEST_F(Sheet, OfTheSiteHasEachOpenFindingOnceAndItsPartsOnce) {
  site.findings_.push_back(web_test_finding("20260504-070000-z1-shorted_coil"));
  site.findings_[1].fault = Fault::shorted_coil;
  site.findings_[1].zones = {1};
  site.findings_.push_back(web_test_finding("20260401-z4-old"));
  site.findings_[2].closed = test_now();
  const Json visit = Json::parse(ask("/api/v1/visit").body);
  EXPECT_EQ(visit["sheets"].size(), 2U);
  std::set<std::string> parts;
  for (const Json& part : visit["bring"])
    EXPECT_TRUE(parts.insert(part["what"].get<std::string>()).second) << part;
  EXPECT_EQ(visit["cautions"][0], "Switch the zone off before you reach into a wet box.");
  const std::string text = page("/visit");
  EXPECT_THAT(text, HasSubstr("<h1>Visit to Juniper Row 12</h1>"));
  EXPECT_THAT(text, Not(HasSubstr("20260401-z4-old")));
  EXPECT_THAT(text, HasSubstr("wires and transformer may overheat"));
}

TEST_F(Sheet, MoreFindingsThanAVanDoesInADayAreCounted) {
  for (int i = 0; i < 15; ++i) site.findings_.push_back(web_test_finding("more-" + std::to_string(i)));
  const Json visit = Json::parse(ask("/api/v1/visit").body);
  EXPECT_EQ(visit["sheets"].size(), 12U);
  EXPECT_EQ(visit["left_out"], 4);
  EXPECT_THAT(page("/visit"), HasSubstr("4 more findings are open"));
}

TEST_F(Sheet, LengthsAreInTheUnitOfTheSite) {
  EXPECT_EQ(json()["path"][2]["length"], "31 m");
  site.edit_config().site.feet = true;
  EXPECT_EQ(json()["path"][2]["length"], "102 ft");
  EXPECT_THAT(json()["bring"].dump(), HasSubstr("a few feet of"));
}

// Messages go on while it is thought about: nothing is worked out in the call, and the work asks nothing of
// the site.
TEST_F(Sheet, WhatTakesThoughtIsWorkedOutAside) {
  const std::string id = site.findings_[0].id;
  for (const std::string& path :
       {std::string("/visit"), "/finding/" + id, "/finding/" + id + "/sheet", std::string("/api/v1/visit"),
        "/api/v1/findings/" + id + "/sheet", "/api/v1/findings/" + id + "/places",
        "/api/v1/findings/" + id + "/test-readings"}) {
    const std::string at_once = ask(path).body;
    site.put_aside = true;
    std::optional<ApiResponse> response;
    api.handle({"GET", path, {}, ""}, [&](ApiResponse answer) { response = std::move(answer); });
    ASSERT_EQ(site.aside_work.size(), 1U) << path;
    EXPECT_FALSE(response) << path;
    const std::vector<Finding> there = std::exchange(site.findings_, {});
    std::thread(site.aside_work[0]).join();
    site.findings_ = there;
    EXPECT_FALSE(response) << path;
    site.aside_then[0]();
    ASSERT_TRUE(response) << path;
    EXPECT_EQ(response->body, at_once) << path;
    site.put_aside = false;
    site.aside_work.clear();
    site.aside_then.clear();
  }
}

TEST_F(Sheet, NothingOpenAndNothingThereAreSaid) {
  site.findings_.clear();
  EXPECT_THAT(page("/visit"), HasSubstr("nothing is to be repaired"));
  EXPECT_EQ(ask("/finding/none/sheet").status, 404);
  EXPECT_EQ(ask("/api/v1/findings/none/sheet").status, 404);
}

TEST_F(Sheet, TheFindingLeadsToIt) {
  EXPECT_THAT(page("/finding/" + site.findings_[0].id),
              HasSubstr("/finding/" + site.findings_[0].id + "/sheet"));
  EXPECT_THAT(page("/"), HasSubstr("href=\"/visit\""));
}

}  // namespace
}  // namespace coilward
