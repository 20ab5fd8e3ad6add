#include "daemon/runs/never_ran.h"

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Programmes come round within a week (common practice); some pause on rainy days.
constexpr double kComesRoundSeconds = 9 * 86400;
constexpr int kLeastDays = 4;

}  // namespace

void NeverRan::ran(int zone, UtcTime start) {
  waiting_.erase(zone);
  if (first_ == kNever) first_ = start;
  const auto day = std::chrono::floor<std::chrono::days>(start);
  if (latest_ == kNever || day > std::chrono::floor<std::chrono::days>(latest_)) ++days_;
  latest_ = std::max(latest_, start);
}

std::vector<int> NeverRan::overdue() {
  if (waiting_.empty() || days_ < kLeastDays || seconds_between(first_, latest_) < kComesRoundSeconds)
    return {};
  const std::vector<int> zones(waiting_.begin(), waiting_.end());
  waiting_.clear();
  return zones;
}

Json NeverRan::save() const {
  return {{"waiting", std::vector<int>(waiting_.begin(), waiting_.end())},
          {"first", to_ms(first_)},
          {"latest", to_ms(latest_)},
          {"days", days_}};
}

void NeverRan::restore(const Json& saved) {
  const auto waiting = saved.at("waiting").get<std::vector<int>>();
  waiting_ = {waiting.begin(), waiting.end()};
  first_ = from_ms(saved.at("first"));
  latest_ = from_ms(saved.at("latest"));
  days_ = saved.at("days");
}

}  // namespace coilward
