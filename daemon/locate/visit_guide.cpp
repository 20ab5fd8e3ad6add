#include "daemon/locate/visit_guide.h"

#include <deque>

namespace coilward {
namespace {

// Common practice; any other would do as well, the readings are ratios to it.
constexpr double kSourceVolts = 40;
constexpr std::size_t kMostPlaces = 3;
// A place less likely than this is not worth a line on paper.
constexpr double kWorthNaming = 0.05;

// What the meter shows in the middle of an outcome.
TestReading typical(const NextReading& next, const ExpectedReading& expect) {
  TestReading reading;
  reading.kind = next.kind;
  reading.zone = next.zone;
  reading.at = next.at;
  reading.toward = next.toward;
  reading.conductor = next.conductor;
  reading.source_volts = next.kind == ReadingKind::source_volts ? kSourceVolts : 0;
  reading.value = expect.high >= kOpenOhms ? kOpenOhms : (expect.low + expect.high) / 2;
  return reading;
}

std::vector<Place> likely(const std::vector<Place>& places) {
  std::vector<Place> list;
  for (const Place& place : places)
    if (list.empty() || (list.size() < kMostPlaces && place.probability >= kWorthNaming))
      list.push_back(place);
  return list;
}

// What is still to be thought through: the readings so far, and the outcome they come from.
struct Branch {
  std::vector<TestReading> readings;
  int step = -1;
  std::size_t outcome = 0;
};

class GuideMaker {
 public:
  GuideMaker(const LocateInput& input, std::size_t most) : input_(input), most_(most) {}

  std::vector<GuideStep> make() {
    waiting_.push_back({input_.readings});
    while (!waiting_.empty()) {
      const Branch branch = std::move(waiting_.front());
      waiting_.pop_front();
      follow(branch);
    }
    return std::move(steps_);
  }

 private:
  void follow(const Branch& branch) {
    LocateInput input = input_;
    input.readings = branch.readings;
    const Location location = locate_fault(input);
    const bool goes_on = location.next && steps_.size() < most_;
    if (branch.step >= 0) {
      GuideOutcome& outcome = steps_[static_cast<std::size_t>(branch.step)].outcomes[branch.outcome];
      outcome.solved = location.solved;
      outcome.places = likely(location.places);
      outcome.more = location.next && !goes_on;
      if (goes_on) outcome.next_step = static_cast<int>(steps_.size()) + 1;
    }
    if (goes_on) add_step(*location.next, branch);
  }

  void add_step(const NextReading& next, const Branch& branch) {
    GuideStep step{static_cast<int>(steps_.size()) + 1, next, {}};
    for (const ExpectedReading& expect : next.expect) {
      Branch then{branch.readings, static_cast<int>(steps_.size()), step.outcomes.size()};
      then.readings.push_back(typical(next, expect));
      waiting_.push_back(std::move(then));
      step.outcomes.push_back({expect, 0, false, false, {}});
    }
    steps_.push_back(std::move(step));
  }

  const LocateInput& input_;
  const std::size_t most_;
  std::deque<Branch> waiting_;  // nearer ones first
  std::vector<GuideStep> steps_;
};

}  // namespace

std::vector<GuideStep> visit_guide(const LocateInput& input, std::size_t most) {
  return GuideMaker(input, most).make();
}

}  // namespace coilward
