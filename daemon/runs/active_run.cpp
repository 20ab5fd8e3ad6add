#include "daemon/runs/active_run.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/runs/level.h"

namespace coilward {
namespace {

// A plunger seats within 100 ms and the direct-current part of the switch-on dies within a few cycles (common
// practice; shown by the simulator's waveforms); the rest is margin for one slow half-cycle RMS sensor.
constexpr std::int32_t kBurstMs = 600;
constexpr double kSettledMs = 800;
constexpr std::int32_t kSeatedMs = 200;
// The holding level is taken within the first minute, before the coil has warmed by more than a little.
constexpr std::int32_t kEarlyMs = 76'000;
constexpr std::size_t kMostBurst = 96, kMostEarly = 128, kMostLate = 12, kMostCommon = 64;
// Readings at most this far apart show the switch-on (contract section 2: 8-10 ms; some are lost).
constexpr std::int32_t kBurstGapMs = 50;

void keep_latest(std::vector<RunPoint>& points, RunPoint point, std::size_t most) {
  if (points.size() >= most) points.erase(points.begin());
  points.push_back(point);
}

std::vector<double> amps_of(const std::vector<RunPoint>& points) {
  std::vector<double> amps;
  amps.reserve(points.size());
  for (const auto& point : points) amps.push_back(point.amps);
  return amps;
}

double level_of(const std::vector<RunPoint>& points) {
  auto amps = amps_of(points);
  return median(amps);
}

Json points_json(const std::vector<RunPoint>& points) {
  Json json = Json::array();
  for (const auto& p : points) json.push_back({p.ms, p.amps});
  return json;
}

std::vector<RunPoint> points_from(const Json& json) {
  std::vector<RunPoint> points;
  for (const auto& p : json) points.push_back({p.at(0).get<std::int32_t>(), p.at(1).get<float>()});
  return points;
}

}  // namespace

ActiveRun::ActiveRun(int zone, UtcTime start, bool commanded)
    : zone_(zone), start_(start), latest_(start), commanded_(commanded) {}

void ActiveRun::current(UtcTime time, double amps, double off_below) {
  if (!commanded_ && time < start_ && amps >= off_below) begin_earlier(time);
  const auto since = (time - start_).count();
  if (since < -kBurstGapMs || since > INT32_MAX) return;  // belongs to before the switch-on
  const RunPoint point{static_cast<std::int32_t>(std::max<std::int64_t>(0, since)), static_cast<float>(amps)};
  ++readings_;
  latest_ = std::max(latest_, time);
  const bool low = amps < off_below;
  if (!low) {
    if (low_since_ != kNever && carried_) ++dips_;
    carried_ = true;
    low_since_ = kNever;
    low_readings_ = 0;
  } else if (carried_) {
    if (low_since_ == kNever) low_since_ = time;
    ++low_readings_;
  }
  if (point.ms < kBurstMs && burst_.size() < kMostBurst)
    burst_.insert(std::upper_bound(burst_.begin(), burst_.end(), point,
                                   [](const RunPoint& a, const RunPoint& b) { return a.ms < b.ms; }),
                  point);
  if (point.ms < kSettledMs) return;
  ++settled_;
  lowest_ = measured(lowest_) ? std::min(lowest_, amps) : amps;
  highest_ = measured(highest_) ? std::max(highest_, amps) : amps;
  if (point.ms <= kEarlyMs) keep_early(point);
  keep_latest(late_, point, kMostLate);
}

// A burst comes as one pack, now and then after a later single reading.
void ActiveRun::begin_earlier(UtcTime start) {
  const auto by = static_cast<std::int32_t>((start_ - start).count());
  for (auto* points : {&burst_, &early_, &late_, &common_})
    for (auto& point : *points) point.ms += by;
  start_ = start;
}

void ActiveRun::keep_early(RunPoint point) {
  if (!early_.empty() && point.ms - early_.back().ms < early_gap_ms_) return;
  early_.push_back(point);
  if (early_.size() < kMostEarly) return;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < early_.size(); i += 2) early_[kept++] = early_[i];
  early_.resize(kept);
  early_gap_ms_ = std::max(
      2 * early_gap_ms_, 2 * (early_.back().ms - early_.front().ms) / static_cast<std::int32_t>(kMostEarly));
}

void ActiveRun::common_amps(UtcTime time, double amps) {
  const auto ms = (time - start_).count();
  if (ms >= kSettledMs && ms <= INT32_MAX && common_.size() < kMostCommon)
    common_.push_back({static_cast<std::int32_t>(ms), static_cast<float>(amps)});
}

void ActiveRun::other_on(int zone, UtcTime from) { others_.push_back({zone, from, kNever}); }

void ActiveRun::other_off(int zone, UtcTime to) {
  for (auto& other : others_)
    if (other.zone == zone && other.to == kNever) other.to = to;
}

// The readings the level is taken from: after the transient, within the first minute, and with the same other
// zones on throughout. Another zone on for most of that time is shared with; one on for less makes a gap.
ActiveRun::Window ActiveRun::hold_window(UtcTime end, const std::function<UtcTime(int)>& on_until) const {
  const auto ms = [&](UtcTime time) { return static_cast<double>((time - start_).count()); };
  // The first reading without current is not the run's any more.
  const UtcTime until = low_since_ != kNever && carried_ ? std::min(end, low_since_ - Millis{1}) : end;
  Window window{kSettledMs, std::min<double>(kEarlyMs, ms(until)), {}};
  for (const auto& other : others_) {
    const double half = 0.5 * (window.to_ms - window.from_ms);
    const double from = std::max(window.from_ms, ms(other.from));
    const double known = std::min(window.to_ms, ms(other.to == kNever ? on_until(other.zone) : other.to));
    const double possible = other.to == kNever ? window.to_ms : known;
    if (possible <= from) continue;
    if (known - from >= half) {
      window.from_ms = from;
      window.to_ms = known;
      window.shared_with.push_back(other.zone);
      continue;
    }
    window.unsure = window.unsure || possible - from >= half;
    if (known > from) window.out.push_back({from - kBurstMs, known + kBurstMs});
  }
  return window;
}

bool ActiveRun::Window::has(std::int32_t ms) const {
  return ms >= from_ms && ms <= to_ms && std::none_of(out.begin(), out.end(), [&](const auto& gap) {
           return ms >= gap.first && ms <= gap.second;
         });
}

std::vector<RunPoint> ActiveRun::points_in(const Window& window) const {
  std::vector<RunPoint> points;
  for (const auto& point : early_)
    if (window.has(point.ms)) points.push_back(point);
  // Slow or late sensors: whatever there is says more than nothing.
  if (points.empty() && low_since_ == kNever) points = early_.empty() ? late_ : early_;
  if (points.empty()) points = from_burst();
  return points;
}

// Of a run that showed only its switch-on, the end of that is the level; of one with a reading or two, they
// are.
std::vector<RunPoint> ActiveRun::from_burst() const {
  if (!carried_ || burst_.size() < 4) return burst_;
  std::vector<RunPoint> seated;
  for (const auto& point : burst_)
    if (point.ms >= kSeatedMs) seated.push_back(point);
  return seated.size() >= 5 ? seated : std::vector<RunPoint>{};
}

void ActiveRun::summarise_level(Run& run, const Window& window) const {
  const auto points = points_in(window);
  auto amps = amps_of(points);
  run.hold_amps = median(amps);
  run.hold_spread_amps = scaled_mad(amps, run.hold_amps);
  if (points.size() >= 5 && points.back().ms - points.front().ms > 20'000 && run.hold_amps > 0) {
    std::vector<double> minutes, level;
    for (const auto& point : points) {
      minutes.push_back(point.ms / 60'000.0);
      level.push_back(point.amps / run.hold_amps);
    }
    run.warm_up_per_minute = slope(minutes, level);
  }
}

void ActiveRun::summarise_burst(Run& run) const {
  if (burst_.size() < 4) return;
  for (std::size_t i = 1; i < burst_.size() && burst_[i - 1].ms < 150; ++i)
    if (burst_[i].ms - burst_[i - 1].ms > kBurstGapMs) return;
  run.burst = burst_;
  // The middle of three neighbours: one wild sample is not an inrush.
  std::size_t top = 0;
  double inrush = 0;
  for (std::size_t i = 1; i + 1 < burst_.size(); ++i) {
    const double a = burst_[i - 1].amps, b = burst_[i].amps, c = burst_[i + 1].amps;
    const double middle = std::max(std::min(a, b), std::min(std::max(a, b), c));
    if (middle > inrush) inrush = middle, top = i;
  }
  run.inrush_amps = inrush;
  const double level = measured(run.hold_amps) ? run.hold_amps : burst_.back().amps;
  for (std::size_t i = top; i < burst_.size(); ++i)
    if (burst_[i].amps <= level + 0.25 * (inrush - level)) {
      run.seat_ms = burst_[i].ms;
      break;
    }
}

Run ActiveRun::summary(UtcTime end, RunEnd ended, const std::function<UtcTime(int)>& on_until) const {
  Run run;
  run.zone = zone_;
  run.start = start_;
  run.end = end;
  run.ended = ended;
  run.commanded = commanded_;
  run.readings = readings_;
  run.dips = dips_;
  const Window window = hold_window(end, on_until);
  run.shared_with = window.shared_with;
  run.sharing_unsure = window.unsure;
  summarise_level(run, window);
  summarise_burst(run);
  run.last_amps = level_of(late_);
  run.lowest_amps = lowest_;
  run.highest_amps = highest_;
  run.zone_volts = zone_volts_.value();
  run.supply_volts = supply_.value();
  std::vector<RunPoint> common;
  for (const auto& point : common_)
    if (window.has(point.ms)) common.push_back(point);
  run.common_amps = level_of(common);
  return run;
}

Json ActiveRun::save() const {
  Json others = Json::array();
  for (const auto& o : others_) others.push_back({o.zone, to_ms(o.from), to_ms(o.to)});
  return {{"zone", zone_},
          {"start", to_ms(start_)},
          {"latest", to_ms(latest_)},
          {"commanded", commanded_},
          {"readings", readings_},
          {"settled", settled_},
          {"low_readings", low_readings_},
          {"dips", dips_},
          {"carried", carried_},
          {"low_since", to_ms(low_since_)},
          {"lowest", number_or_null(lowest_)},
          {"highest", number_or_null(highest_)},
          {"burst", points_json(burst_)},
          {"early", points_json(early_)},
          {"late", points_json(late_)},
          {"early_gap_ms", early_gap_ms_},
          {"supply", {supply_.sum, supply_.count}},
          {"zone_volts", {zone_volts_.sum, zone_volts_.count}},
          {"common", points_json(common_)},
          {"others", others}};
}

ActiveRun ActiveRun::restore(const Json& j) {
  ActiveRun run(j.at("zone"), from_ms(j.at("start")), j.at("commanded"));
  run.latest_ = from_ms(j.at("latest"));
  run.readings_ = j.at("readings");
  run.settled_ = j.at("settled");
  run.low_readings_ = j.at("low_readings");
  run.dips_ = j.at("dips");
  run.carried_ = j.at("carried");
  run.low_since_ = from_ms(j.at("low_since"));
  if (!j.at("lowest").is_null()) run.lowest_ = j.at("lowest");
  if (!j.at("highest").is_null()) run.highest_ = j.at("highest");
  run.burst_ = points_from(j.at("burst"));
  run.early_ = points_from(j.at("early"));
  run.late_ = points_from(j.at("late"));
  run.early_gap_ms_ = j.at("early_gap_ms");
  run.supply_ = {j.at("supply").at(0), j.at("supply").at(1)};
  run.zone_volts_ = {j.at("zone_volts").at(0), j.at("zone_volts").at(1)};
  run.common_ = points_from(j.at("common"));
  for (const auto& o : j.at("others")) run.others_.push_back({o.at(0), from_ms(o.at(1)), from_ms(o.at(2))});
  return run;
}

}  // namespace coilward
