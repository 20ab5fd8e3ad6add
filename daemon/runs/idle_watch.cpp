#include "daemon/runs/idle_watch.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {

namespace {

// Two days, so that what happens once a day is not odd; two weeks for a sensor that only speaks now and then,
// as one that sends while its zone is on, which may be every few days.
constexpr double kRegularAfterSeconds = 48 * 3600, kUsualAfterSeconds = 15 * 86400;
constexpr double kRegularGapSeconds = 15 * 60;
// Its own message may be the next one to come.
constexpr double kGraceSeconds = 10;
constexpr double kLeastStaleSeconds = 60;

}  // namespace

void IdleWatch::heard(UtcTime time, double amps, bool link_was_away) {
  if (first_ == kNever) first_ = time;
  if (last_ != kNever && time > last_) {
    const double gap = seconds_between(last_, time), kept = std::exp(-gap / kGapMemorySeconds);
    longest_gap_s_ = std::max(gap, longest_gap_s_ * kept);
    longest_own_gap_s_ = std::max(link_was_away ? 0 : gap, longest_own_gap_s_ * kept);
    ++gaps_;
  }
  // Carried current wavers; a zero may well be exact.
  Repeats& usual = amps > on_above() ? carrying_ : resting_;
  const bool equal = amps == latest_;
  if (!equal || same_ < 8) {
    usual.steps += 1;
    usual.repeats += equal ? 1 : 0;
  }
  if (amps == latest_) {
    ++same_;
  } else {
    same_ = 0;
    same_since_ = time;
  }
  latest_ = amps;
  last_ = std::max(last_, time);
}

void IdleWatch::idle(double amps) {
  ++idle_count_;
  const double step = 1.0 / std::min(idle_count_, 50);
  const double off = amps - zero_;
  zero_ += step * off;
  if (idle_count_ > 1)
    noise_ += step * (1.2533 * std::abs(off) - noise_);  // mean deviation to standard deviation
  if (idle_count_ == kFirstZeroOf) first_zero_ = zero_;
}

double IdleWatch::on_above() const { return std::max(0.0, zero_) + std::max(0.025, 6 * noise_); }

double IdleWatch::usual_own_gap_s() const { return measured(every_s_) ? every_s_ : longest_own_gap_s_; }

double IdleWatch::usual_gap_s() const { return measured(every_s_) ? every_s_ : longest_gap_s_; }

bool IdleWatch::is_stale(UtcTime now, UtcTime from) const {
  if (last_ == kNever) return false;
  const double silent_s = seconds_between(std::max(last_, from), now);
  if (silent_s <= kLeastStaleSeconds + kGraceSeconds) return false;  // first: it is asked of each zone each second
  if (!measured(every_s_) && longest_gap_s_ > kSpeaksSeldomSeconds) return false;
  const double known_after = longest_gap_s_ < kRegularGapSeconds ? kRegularAfterSeconds : kUsualAfterSeconds;
  if (!measured(every_s_) && (gaps_ < 20 || seconds_between(first_, last_) < known_after)) return false;
  return silent_s > std::max(kLeastStaleSeconds, 3 * usual_gap_s()) + kGraceSeconds;
}

double IdleWatch::frozen_nats() const {
  const Repeats& usual = latest_ > on_above() ? carrying_ : resting_;
  if (usual.steps < 20 || same_ < 3) return 0;
  return -same_ * std::log(std::clamp((usual.repeats + 1) / (usual.steps + 2), 0.05, 0.99));
}

Json IdleWatch::save() const {
  return {{"first", to_ms(first_)},
          {"last", to_ms(last_)},
          {"latest", number_or_null(latest_)},
          {"longest_gap_s", longest_gap_s_},
          {"longest_own_gap_s", longest_own_gap_s_},
          {"gaps", gaps_},
          {"zero", zero_},
          {"noise", noise_},
          {"first_zero", first_zero_},
          {"idle_count", idle_count_},
          {"repeats", {carrying_.repeats, carrying_.steps, resting_.repeats, resting_.steps}},
          {"same", same_},
          {"same_since", to_ms(same_since_)}};
}

void IdleWatch::restore(const Json& j) {
  first_ = from_ms(j.at("first"));
  last_ = from_ms(j.at("last"));
  latest_ = j.at("latest").is_null() ? kNotMeasured : j.at("latest").get<double>();
  longest_gap_s_ = j.at("longest_gap_s");
  longest_own_gap_s_ = j.value("longest_own_gap_s", longest_gap_s_);
  gaps_ = j.at("gaps");
  zero_ = j.at("zero");
  noise_ = j.at("noise");
  first_zero_ = j.at("first_zero");
  idle_count_ = j.at("idle_count");
  carrying_ = {j.at("repeats").at(0), j.at("repeats").at(1)};
  resting_ = {j.at("repeats").at(2), j.at("repeats").at(3)};
  same_ = j.at("same");
  same_since_ = from_ms(j.at("same_since"));
}

}  // namespace coilward
