// A zone that somebody asked the controller to switch on for a test: what was asked, by whom, and what came
// of it. coilward switches nothing itself: a controller may honour the request, or not.
#pragma once

#include <optional>
#include <string>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

// Own choice: enough to walk to a box and see a splice make contact; never long enough to flood a garden.
inline constexpr int kTestRunSeconds = 120, kMostTestRunSeconds = 600, kLeastTestRunSeconds = 10;
// A controller that gets the request later must not act on it any more: nobody expects it then (own choice).
inline constexpr Millis kTestRunExpiry = std::chrono::seconds{10};
// Sensors say something within this time of a switch (own choice); after it, it is said that nothing is
// heard.
inline constexpr Millis kTestRunAnswer = std::chrono::seconds{20};

struct TestRun {
  std::string id;  // 20260504-061209-z4
  int zone = 0;
  int seconds = kTestRunSeconds;
  std::string who;
  UtcTime asked = kNever;
  UtcTime heard = kNever;      // when the zone was first seen to be on
  UtcTime end_asked = kNever;  // before its time was over, or when it was
  std::string end_who;         // empty: its time was over
  UtcTime off = kNever;        // when it was seen to be off again
  UtcTime until() const { return asked + std::chrono::seconds{seconds}; }
};

// waiting: asked, no answer yet. unheard: none came in time. ending: to be off any moment. left_on: still
// seen to be on although its end was asked for.
enum class TestRunStage : std::uint8_t { waiting, on, unheard, ending, left_on, over };

TestRunStage stage_of(const TestRun& run, UtcTime now);
std::string_view stage_name(TestRunStage stage);
// Under way, or over a moment ago: worth a word beside what the zone draws.
bool is_shown(const TestRun& run, UtcTime now);
// For people, as of now: "Asked the controller 4 s ago; nothing is heard yet."
std::string test_run_words(const TestRun& run, UtcTime now);

// {"id", "zone", "seconds", "who", "asked", "until", "heard", "end_asked", "end_who", "off"}
Json test_run_to_json(const TestRun& run);
// bad_input: not such a text.
Result<TestRun> test_run_from_text(const std::string& text);

// What is published (README.md, "Switching a zone on for a test").
Json run_request(const TestRun& run, const std::string& site);
Json stop_request(const TestRun& run, const std::string& site);

}  // namespace coilward
