#include "daemon/diagnosis/watering.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

// Two runs agree within so many deviations of what lies between them; own judgement.
constexpr double kAgree = 2.5;
// Outputs that may not be sound say what the supply is when they are so many of all, three at least, and off
// by no more than the supply's own deviations; own judgement.
constexpr double kMostOf = 0.6, kSupplyOff = 3;

}  // namespace

bool Watering::waits(const WaitingRun& run) {
  if (run.sample.volts_known || !model_.supply_unsure(run.sample)) return false;
  std::erase_if(waiting_, [&](const WaitingRun& it) { return it.sample.index == run.sample.index; });
  waiting_.push_back(run);
  return true;
}

std::vector<WaitingRun> Watering::group_of(const WaitingRun& one) const {
  std::vector<WaitingRun> group;
  for (const auto& other : waiting_)
    if (&other == &one || std::abs(model_.apart(one.sample, other.sample)) < kAgree) group.push_back(other);
  return group;
}

bool Watering::believed(const std::vector<WaitingRun>& group) const {
  const auto teach = std::count_if(group.begin(), group.end(), [](const auto& run) { return run.teaches; });
  if (teach >= 2) return true;
  const auto most = std::max(3.0, kMostOf * static_cast<double>(outputs_));
  return static_cast<double>(group.size()) >= most &&
         std::all_of(group.begin(), group.end(),
                     [&](const auto& run) { return std::abs(model_.off(run.sample)) < kSupplyOff; });
}

std::vector<WaitingRun> Watering::agreed() {
  std::vector<WaitingRun> best;
  double best_off = 0;
  for (const auto& one : waiting_) {
    auto group = group_of(one);
    const double off = std::abs(model_.off(one.sample));
    if (group.size() < best.size() || (group.size() == best.size() && off >= best_off)) continue;
    best = std::move(group);
    best_off = off;
  }
  if (!believed(best)) return {};
  std::erase_if(waiting_, [&](const WaitingRun& it) {
    return std::any_of(best.begin(), best.end(),
                       [&](const WaitingRun& of) { return of.sample.index == it.sample.index; });
  });
  return best;
}

std::vector<WaitingRun> Watering::left_over(UtcTime now) {
  if (waiting_.empty() || now - waiting_.front().sample.time < kOneWatering) return {};
  std::erase_if(waiting_, [](const WaitingRun& run) { return !run.teaches; });
  const auto nearest =
      std::min_element(waiting_.begin(), waiting_.end(), [&](const WaitingRun& a, const WaitingRun& b) {
        return std::abs(model_.off(a.sample)) < std::abs(model_.off(b.sample));
      });
  std::vector<WaitingRun> left;
  if (nearest != waiting_.end()) left.push_back(*nearest);
  waiting_.clear();
  return left;
}

}  // namespace coilward
