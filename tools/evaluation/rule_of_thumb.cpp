#include "tools/evaluation/rule_of_thumb.h"

#include <fmt/format.h>

namespace coilward::evaluate {
namespace {

constexpr int kLearn = 5;
constexpr double kLow = 0.8, kHigh = 1.2, kNothing = 0.1;
constexpr double kSure = 0.9;  // it says no probability: people act on it as if it were right

}  // namespace

void RuleOfThumb::run(const Run& run, UtcTime now) {
  if (run.zone == kMasterZone || !run.shared_with.empty() || !measured(run.hold_amps)) return;
  Zone& zone = zones_[run.zone];
  if (zone.learned < kLearn) {
    ++zone.learned;
    zone.sum += run.hold_amps;
    return;
  }
  const double ratio = run.hold_amps / (zone.sum / kLearn);
  if (ratio < kNothing) return dead(run.zone, now);
  dead_.erase(run.zone);
  if (common_) {
    common_->closed = now;
    tell(*common_, now);
    common_.reset();
  }
  if (ratio < kLow) return say(run.zone, Fault::high_resistance, now);
  if (ratio > kHigh) return say(run.zone, Fault::shorted_coil, now);
  close(run.zone, now);
}

void RuleOfThumb::dead(int zone, UtcTime now) {
  dead_.insert(zone);
  if (dead_.size() < 2) return say(zone, Fault::open_circuit, now);
  for (const int it : dead_) close(it, now);
  const std::vector<int> zones(dead_.begin(), dead_.end());
  if (common_ && common_->zones == zones) return;
  if (!common_) {
    common_.emplace();
    common_->id = fmt::format("{}-common", format_compact(now));
    common_->fault = Fault::failed_common;
    common_->opened = now;
    common_->probability = kSure;
  }
  common_->zones = zones;
  tell(*common_, now);
}

void RuleOfThumb::say(int zone, Fault fault, UtcTime now) {
  Finding& it = open_[zone];
  if (!it.id.empty() && it.fault == fault) return;
  if (it.id.empty()) {
    it.id = fmt::format("{}-z{}", format_compact(now), zone);
    it.zones = {zone};
    it.opened = now;
    it.probability = kSure;
  }
  it.fault = fault;
  tell(it, now);
}

void RuleOfThumb::close(int zone, UtcTime now) {
  const auto it = open_.find(zone);
  if (it == open_.end()) return;
  it->second.closed = now;
  tell(it->second, now);
  open_.erase(it);
}

void RuleOfThumb::tell(Finding finding, UtcTime now) {
  finding.updated = now;
  told_.push_back({now, std::move(finding)});
}

}  // namespace coilward::evaluate
