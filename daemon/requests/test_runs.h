// The test runs of a site: one at a time is asked for, watched, and asked to end when its time is over. Plain
// code: what is to be published and kept comes out, time and what is seen of zones goes in. Thread: one at a
// time.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/requests/test_run.h"

namespace coilward {

class TestRuns {
 public:
  static constexpr std::size_t kRemembered = 50;  // the latest of them

  // bad_input: the length. conflict: another is under way, or one was left on.
  Result<TestRun> ask(int zone, int seconds, const std::string& who, UtcTime now);
  // not_found: none of this zone is under way. who: empty when its time was over.
  Result<TestRun> ask_end(int zone, const std::string& who, UtcTime now);

  struct Look {
    std::vector<TestRun> changed;  // to be kept
    std::vector<TestRun> ended;    // their time is over: to be asked to end
  };
  // Once a second or so. is_on: the zone is said or seen to be on.
  Look look(UtcTime now, const std::function<bool(int zone)>& is_on);

  // The latest first.
  const std::vector<TestRun>& all() const { return runs_; }
  // As they were kept, the latest first.
  void restore(std::vector<TestRun> runs);

 private:
  TestRun* under_way(UtcTime now);

  std::vector<TestRun> runs_;
};

}  // namespace coilward
