#include "daemon/runs/pause_watch.h"

#include <algorithm>
#include <functional>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Less lies within one watering (common practice: soak pauses take minutes).
constexpr double kPauseSeconds = 3 * 3600;
// Pauses remembered, how many make them known, and from how many on one may have been a delay itself.
constexpr std::size_t kPausesRemembered = 14, kPausesKnown = 4, kOneMayBeDelay = 11;
// Programmes repeat within a week: until one has passed, its longest pause may be yet to come.
constexpr double kWeekSeconds = 8 * 86400;
// Controllers' rain delays last up to a few days (common practice). One may begin just before a watering and
// end just after another.
constexpr double kLongestDelaySeconds = 4 * 86400;

}  // namespace

void PauseWatch::ran(UtcTime start, UtcTime end) {
  const double pause = end_ == kNever ? 0 : seconds_between(end_, start);
  if (pause > kPauseSeconds && !told_) {
    if (pauses_s_.size() >= kPausesRemembered) pauses_s_.erase(pauses_s_.begin());
    pauses_s_.push_back(pause);
  }
  if (first_ == kNever) first_ = start;
  end_ = std::max(end_, end);
  told_ = false;
}

double PauseWatch::usual_pause_s() const {
  std::vector<double> longest = pauses_s_;
  std::sort(longest.begin(), longest.end(), std::greater<>());
  return longest[longest.size() >= kOneMayBeDelay ? 1 : 0];
}

UtcTime PauseWatch::silent_since(UtcTime now, UtcTime heard_since) {
  const bool known = pauses_s_.size() >= kPausesKnown && seconds_between(first_, end_) > kWeekSeconds;
  if (told_ || !known) return kNever;
  const UtcTime from = heard_since == kNever ? end_ : std::max(end_, heard_since);
  if (seconds_between(from, now) < 2 * usual_pause_s() + kLongestDelaySeconds) return kNever;
  told_ = true;
  return end_;
}

Json PauseWatch::save() const {
  return {{"pauses_s", pauses_s_}, {"first", to_ms(first_)}, {"end", to_ms(end_)}, {"told", told_}};
}

void PauseWatch::restore(const Json& saved) {
  pauses_s_ = saved.at("pauses_s").get<std::vector<double>>();
  first_ = from_ms(saved.at("first"));
  end_ = from_ms(saved.at("end"));
  told_ = saved.at("told");
}

}  // namespace coilward
