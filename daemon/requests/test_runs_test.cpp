#include "daemon/requests/test_runs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

using std::chrono::minutes;
using std::chrono::seconds;
using testing::HasSubstr;

class AskedFor : public ::testing::Test {
 protected:
  TestRuns::Look pass(Millis time, bool on) {
    now += time;
    return runs.look(now, [on](int zone) { return on && zone == 4; });
  }
  TestRunStage stage() const { return stage_of(runs.all().front(), now); }
  UtcTime now = *parse_rfc3339("2026-05-04T06:12:09Z");
  TestRuns runs;
};

TEST_F(AskedFor, a_test_is_heard_and_ends_by_itself) {
  ASSERT_TRUE(runs.ask(4, 120, "Ana", now));
  EXPECT_EQ(stage(), TestRunStage::waiting);
  EXPECT_TRUE(pass(seconds{1}, false).changed.empty());
  EXPECT_EQ(pass(seconds{2}, true).changed.size(), 1u);
  EXPECT_EQ(stage(), TestRunStage::on);
  EXPECT_TRUE(pass(seconds{60}, true).changed.empty());
  const auto end = pass(seconds{58}, true);
  ASSERT_EQ(end.ended.size(), 1u);
  EXPECT_EQ(end.ended[0].end_who, "");
  EXPECT_EQ(stage(), TestRunStage::ending);
  EXPECT_EQ(pass(seconds{1}, false).changed.size(), 1u);
  EXPECT_EQ(stage(), TestRunStage::over);
}

TEST_F(AskedFor, when_nothing_is_heard_that_is_said) {
  ASSERT_TRUE(runs.ask(4, 120, "Ana", now));
  pass(kTestRunAnswer - Millis{1}, false);
  EXPECT_EQ(stage(), TestRunStage::waiting);
  pass(Millis{1}, false);
  EXPECT_EQ(stage(), TestRunStage::unheard);
  EXPECT_THAT(test_run_words(runs.all().front(), now), HasSubstr("Heard nothing"));
  pass(seconds{30}, true);  // a slow sensor
  EXPECT_EQ(stage(), TestRunStage::on);
}

TEST_F(AskedFor, one_that_stays_on_is_said_so_for_as_long_as_it_does) {
  ASSERT_TRUE(runs.ask(4, 10, "Ana", now));
  pass(seconds{2}, true);
  EXPECT_EQ(pass(seconds{8}, true).ended.size(), 1u);
  pass(kTestRunAnswer, true);
  EXPECT_EQ(stage(), TestRunStage::left_on);
  EXPECT_THAT(test_run_words(runs.all().front(), now), HasSubstr("Switch it off at the controller."));
  EXPECT_TRUE(pass(minutes{10}, true).ended.empty());
  EXPECT_FALSE(runs.ask(3, 60, "Ana", now));
  EXPECT_TRUE(runs.ask_end(4, "Ana", now));  // asked again
  pass(seconds{1}, false);
  EXPECT_EQ(stage(), TestRunStage::over);
  EXPECT_TRUE(runs.ask(3, 60, "Ana", now));
}

TEST_F(AskedFor, it_can_be_asked_to_end_early) {
  ASSERT_TRUE(runs.ask(4, 120, "Ana", now));
  pass(seconds{2}, true);
  EXPECT_FALSE(runs.ask_end(3, "Ben", now));
  const auto ended = runs.ask_end(4, "Ben", now);
  ASSERT_TRUE(ended);
  EXPECT_EQ(stop_request(*ended, "s")["who"], "Ben");
  EXPECT_TRUE(pass(seconds{200}, false).ended.empty());
  EXPECT_EQ(stage(), TestRunStage::over);
  EXPECT_FALSE(runs.ask_end(4, "Ben", now));
}

TEST_F(AskedFor, one_at_a_time_and_not_for_long) {
  for (const int wrong : {0, -5, 9, 601}) EXPECT_FALSE(runs.ask(4, wrong, "", now)) << wrong;
  ASSERT_TRUE(runs.ask(4, 600, "", now));
  const auto second = runs.ask(3, 60, "", now);
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().cause, Cause::conflict);
  EXPECT_THAT(second.error().what, HasSubstr("zone 4 is under test"));
}

TEST_F(AskedFor, a_request_says_when_it_is_too_late_for_it) {
  const auto run = runs.ask(4, 120, "Ana", now);
  ASSERT_TRUE(run);
  EXPECT_EQ(run_request(*run, "alder-yard"),
            Json::parse(R"({"id": "20260504-061209-z4", "site": "alder-yard", "zone": 4, "seconds": 120,
                "who": "Ana", "asked": "2026-05-04T06:12:09.000Z", "expires": "2026-05-04T06:12:19.000Z"})"));
}

TEST_F(AskedFor, it_is_kept_and_read_back) {
  ASSERT_TRUE(runs.ask(4, 120, "Ana \"x\"", now));
  pass(seconds{2}, true);
  const std::string text = test_run_to_json(runs.all().front()).dump();
  const auto again = test_run_from_text(text);
  ASSERT_TRUE(again);
  EXPECT_EQ(test_run_to_json(*again).dump(), text);
  runs.restore({*again});
  EXPECT_EQ(stage(), TestRunStage::on);
  for (const char* wrong : {"", "{}", "[1]", "{\"id\": \"a\", \"zone\": 4}"})
    EXPECT_FALSE(test_run_from_text(wrong)) << wrong;
}

TEST_F(AskedFor, many_are_remembered_and_not_without_end) {
  for (std::size_t i = 0; i < TestRuns::kRemembered + 5; ++i) {
    ASSERT_TRUE(runs.ask(4, 10, "", now)) << i;
    pass(minutes{5}, false);
  }
  EXPECT_EQ(runs.all().size(), TestRuns::kRemembered);
}

}  // namespace
}  // namespace coilward
