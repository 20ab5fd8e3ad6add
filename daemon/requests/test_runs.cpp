#include "daemon/requests/test_runs.h"

#include <fmt/format.h>

#include <algorithm>

namespace coilward {

TestRun* TestRuns::under_way(UtcTime now) {
  for (TestRun& run : runs_) {
    const TestRunStage stage = stage_of(run, now);
    const bool in_time = now < std::max(run.until(), run.end_asked) + kTestRunAnswer;
    if (stage == TestRunStage::left_on || (stage != TestRunStage::over && in_time)) return &run;
  }
  return nullptr;
}

Result<TestRun> TestRuns::ask(int zone, int seconds, const std::string& who, UtcTime now) {
  if (seconds < kLeastTestRunSeconds || seconds > kMostTestRunSeconds)
    return Error{Cause::bad_input, fmt::format("seconds is {}: allowed is {} to {}", seconds,
                                               kLeastTestRunSeconds, kMostTestRunSeconds)};
  if (const TestRun* other = under_way(now))
    return Error{Cause::conflict,
                 fmt::format("zone {} is under test: {}", other->zone, test_run_words(*other, now))};
  TestRun run;
  run.id = fmt::format("{}-z{}", format_compact(now), zone);
  run.zone = zone;
  run.seconds = seconds;
  run.who = who;
  run.asked = now;
  runs_.insert(runs_.begin(), run);
  if (runs_.size() > kRemembered) runs_.pop_back();
  return run;
}

Result<TestRun> TestRuns::ask_end(int zone, const std::string& who, UtcTime now) {
  TestRun* run = under_way(now);
  if (!run || run->zone != zone)
    return Error{Cause::not_found, fmt::format("no test of zone {} is under way", zone)};
  run->end_asked = now;
  run->end_who = who;
  return *run;
}

TestRuns::Look TestRuns::look(UtcTime now, const std::function<bool(int)>& is_on) {
  Look look;
  TestRun* run = under_way(now);
  if (!run) return look;
  const bool on = is_on(run->zone);
  bool changed = false;
  if (on && run->heard == kNever) run->heard = now, changed = true;
  if (!on && run->heard != kNever && run->off == kNever) run->off = now, changed = true;
  if (on && run->off != kNever) run->off = kNever, changed = true;  // it only flickered
  if (run->end_asked == kNever && now >= run->until()) {
    run->end_asked = now;
    changed = true;
    look.ended.push_back(*run);
  }
  if (changed) look.changed.push_back(*run);
  return look;
}

void TestRuns::restore(std::vector<TestRun> runs) {
  runs_ = std::move(runs);
  std::stable_sort(runs_.begin(), runs_.end(),
                   [](const TestRun& a, const TestRun& b) { return a.asked > b.asked; });
  if (runs_.size() > kRemembered) runs_.resize(kRemembered);
}

}  // namespace coilward
