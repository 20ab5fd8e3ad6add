#include "daemon/draw/mains.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/draw/robust.h"

namespace coilward {
namespace {

// A 24 V transformer is 24 to 28 V (common practice), loaded or not.
constexpr double kAboveRated = 0.06, kAboveRatedSd = 0.06;
// Wander: within a few per cent from day to day and through the day (EN 50160 allows 10).
constexpr double kDaySd = 0.012, kDayForgetsHours = 36.0, kHoursSd = 0.008, kHoursForgetHours = 3.0;
constexpr double kSlowPerDay = 0.003 * 0.003;
// They wander by a third to four times of that.
constexpr double kLeastWander = 0.1, kMostWander = 16;

}  // namespace

Mains::Mains(JointFilter& filter)
    : filter_(filter),
      slow_(filter.add(kAboveRated, square(kAboveRatedSd))),
      hours_(filter.add(0, square(kHoursSd))) {}

void Mains::keep_for(std::size_t outputs) {
  day_ = filter_.add(0, square(kDaySd));
  for (std::size_t i = 0; i < outputs; ++i) then_.push_back({filter_.add(0, 0)});
}

std::vector<std::size_t> Mains::today() const {
  std::vector<std::size_t> states = {day_, hours_};
  for (const Then& it : then_) states.push_back(it.state);
  return states;
}

std::optional<Loading> Mains::then(std::size_t output, UtcTime start) const {
  const Then& it = then_[output];
  if (it.start == kNever || it.start != start) return std::nullopt;
  return Loading{it.state, 1.0};
}

void Mains::began(std::size_t output, UtcTime start) {
  Then& it = then_[output];
  if (it.start == start) return;
  filter_.copy(now(), it.state);
  it.start = start;
}

void Mains::relax(std::size_t part, double keep, double variance, double& fresh) {
  const double stirred = variance * (1 - keep * keep);
  filter_.relax(part, keep, stirred);
  fresh = keep * keep * fresh + stirred;
}

void Mains::pass(double hours) {
  const auto keep = [&](double forgets) { return std::exp(-hours / forgets); };
  relax(hours_, keep(kHoursForgetHours), hours_scale_.value * square(kHoursSd), hours_fresh_);
  relax(day_, keep(kDayForgetsHours), day_scale_.value * square(kDaySd), day_fresh_);
  filter_.diffuse(slow_, kSlowPerDay * hours / 24);
}

// What has stirred since the last run is what this one can tell of.
void Mains::follow(double surprise, double variance) {
  day_scale_.follow(surprise, day_fresh_ / variance, kLeastWander, kMostWander);
  hours_scale_.follow(surprise, hours_fresh_ / variance, kLeastWander, kMostWander);
  day_fresh_ = hours_fresh_ = 0;
}

void Mains::moved(double relative_sd) { filter_.diffuse(slow_, square(relative_sd)); }

Json Mains::save() const {
  return {{day_scale_.value, day_scale_.seen}, {hours_scale_.value, hours_scale_.seen}};
}

void Mains::restore(const Json& saved) {
  day_scale_ = {saved.at(0).at(0), saved.at(0).at(1)};
  hours_scale_ = {saved.at(1).at(0), saved.at(1).at(1)};
}

}  // namespace coilward
