#include "daemon/requests/test_run.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

std::int64_t whole_seconds(Millis span) { return (span.count() + 500) / 1000; }

std::string text_member(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_string() ? it->get<std::string>() : std::string();
}

int number_member(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_number_integer() ? it->get<int>() : -1;
}

UtcTime time_member(const Json& json, const char* key) {
  return parse_rfc3339(text_member(json, key)).value_or(kNever);
}

}  // namespace

TestRunStage stage_of(const TestRun& run, UtcTime now) {
  const bool ended = run.end_asked != kNever;
  if (run.heard == kNever) {
    if (ended) return now < run.end_asked + kTestRunAnswer ? TestRunStage::ending : TestRunStage::over;
    return now < run.asked + kTestRunAnswer ? TestRunStage::waiting : TestRunStage::unheard;
  }
  if (run.off != kNever) return ended ? TestRunStage::over : TestRunStage::ending;
  if (!ended) return TestRunStage::on;
  return now < run.end_asked + kTestRunAnswer ? TestRunStage::ending : TestRunStage::left_on;
}

bool is_shown(const TestRun& run, UtcTime now) {
  constexpr Millis kAfter = std::chrono::minutes{1};
  const TestRunStage stage = stage_of(run, now);
  return stage == TestRunStage::left_on || now < std::max(run.until(), run.end_asked) + kAfter;
}

std::string_view stage_name(TestRunStage stage) {
  constexpr std::string_view names[] = {"waiting", "on", "unheard", "ending", "left_on", "over"};
  return names[static_cast<std::size_t>(stage)];
}

std::string test_run_words(const TestRun& run, UtcTime now) {
  const auto left = whole_seconds(std::max(Millis{0}, run.until() - now));
  switch (stage_of(run, now)) {
    case TestRunStage::waiting:
      return fmt::format("The controller was asked {} s ago to switch it on; nothing is heard yet.",
                         whole_seconds(now - run.asked));
    case TestRunStage::on:
      return fmt::format("On for a test; the controller is to switch it off in {} s.", left);
    case TestRunStage::unheard:
      return fmt::format(
          "Heard nothing: the zone neither draws nor is said to be on, {} s after the controller was asked. "
          "Either the controller does not take such requests, or the wire is broken and no command is seen. "
          "It may be on all the same.",
          whole_seconds(now - run.asked));
    case TestRunStage::ending:
      return run.off == kNever ? "The controller was asked to switch it off."
                               : "It went off before its time was over.";
    case TestRunStage::left_on:
      return "It is still on although the controller was asked to switch it off. Switch it off at the "
             "controller.";
    case TestRunStage::over:
      return run.heard == kNever ? "The test is over; nothing was heard of it." : "The test is over.";
  }
  return {};
}

Json test_run_to_json(const TestRun& run) {
  return {{"id", run.id},
          {"zone", run.zone},
          {"seconds", run.seconds},
          {"who", run.who},
          {"asked", time_or_null(run.asked)},
          {"until", time_or_null(run.until())},
          {"heard", time_or_null(run.heard)},
          {"end_asked", time_or_null(run.end_asked)},
          {"end_who", run.end_who},
          {"off", time_or_null(run.off)}};
}

Result<TestRun> test_run_from_text(const std::string& text) {
  const Json json = Json::parse(text, nullptr, false);
  TestRun run;
  if (json.is_object()) {
    run.id = text_member(json, "id");
    run.zone = number_member(json, "zone");
    run.seconds = number_member(json, "seconds");
    run.who = text_member(json, "who");
    run.asked = time_member(json, "asked");
    run.heard = time_member(json, "heard");
    run.end_asked = time_member(json, "end_asked");
    run.end_who = text_member(json, "end_who");
    run.off = time_member(json, "off");
  }
  if (run.id.empty() || run.zone < 0 || run.seconds <= 0 || run.asked == kNever)
    return Error{Cause::bad_input, "not a test run: " + text.substr(0, 80)};
  return run;
}

Json run_request(const TestRun& run, const std::string& site) {
  return {{"id", run.id},
          {"site", site},
          {"zone", run.zone},
          {"seconds", run.seconds},
          {"who", run.who},
          {"asked", time_or_null(run.asked)},
          {"expires", time_or_null(run.asked + kTestRunExpiry)}};
}

Json stop_request(const TestRun& run, const std::string& site) {
  return {{"id", run.id},
          {"site", site},
          {"zone", run.zone},
          {"who", run.end_who},
          {"asked", time_or_null(run.end_asked)}};
}

}  // namespace coilward
