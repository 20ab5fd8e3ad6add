#include "daemon/forecast/draw_record.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <utility>

#include "daemon/forecast/robust_trend.h"

namespace coilward {
namespace {

// Other zones' runs this near tell what moved all of them (own choice: zones run about once a day).
constexpr Millis kNear = std::chrono::hours{48};
// As kept in a snapshot: amps in steps far below what sensors resolve, times in hours.
constexpr double kStepAmps = 1e-4;
constexpr std::int64_t kHourMs = 3'600'000;

// The master valve is on beside every zone, the same each time.
bool alone(const Run& run) {
  return std::all_of(run.shared_with.begin(), run.shared_with.end(),
                     [](int zone) { return zone == kMasterZone; });
}

bool tells(const Run& run) {
  return measured(run.hold_amps) && run.hold_amps > 0 && alone(run) && !run.inferred && !run.work_on_site &&
         run.ended != RunEnd::cut_out;
}

template <class T>
bool holds(const std::vector<T>& all, const T& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

}  // namespace

void DrawRecord::run(const Run& run) {
  if (!tells(run)) return;
  auto& points = zones_[run.zone];
  if (!points.empty() && run.start - points.back().time < kRecordEvery) return;
  points.push_back({run.start, run.hold_amps});
  if (points.size() > kMostShares) points.pop_front();
}

void DrawRecord::forget(int zone) { zones_.erase(zone); }

// What the other zones' runs about then show, 1 when there are none.
double DrawRecord::shared_part(UtcTime time, const std::vector<int>& but, const Levels& levels) const {
  std::vector<double> ratios;
  for (const auto& [zone, points] : zones_) {
    const auto level = levels.find(zone);
    if (zone == kMasterZone || holds(but, zone) || level == levels.end()) continue;
    for (const Point& point : points)
      if (std::chrono::abs(point.time - time) <= kNear) ratios.push_back(point.amps / level->second);
  }
  return ratios.empty() ? 1 : median_of(std::move(ratios));
}

std::vector<DrawShare> DrawRecord::shares(int of, const std::vector<int>& zones,
                                          const std::vector<NormalDraw>& normals) const {
  Levels levels;
  for (const NormalDraw& normal : normals)
    if (!normal.provisional && measured(normal.hold_amps) && normal.hold_amps > 0)
      levels[normal.zone] = normal.hold_amps;
  std::vector<DrawShare> shares;
  if (!levels.contains(of)) return shares;
  for (const auto& [zone, points] : zones_) {
    if (!holds(zones, zone) || !levels.contains(zone)) continue;
    const double level = levels.at(zone);
    for (const Point& point : points)
      shares.push_back(
          {point.time, point.amps / level / shared_part(point.time, zones, levels), levels.at(of) / level});
  }
  std::sort(shares.begin(), shares.end(),
            [](const DrawShare& a, const DrawShare& b) { return a.time < b.time; });
  return shares;
}

Json DrawRecord::save() const {
  Json zones = Json::array();
  for (const auto& [zone, points] : zones_) {
    Json hours = Json::array(), amps = Json::array();
    std::int64_t before = 0;
    for (const Point& point : points) {
      const std::int64_t hour = to_ms(point.time) / kHourMs;
      hours.push_back(hour - std::exchange(before, hour));
      amps.push_back(std::llround(point.amps / kStepAmps));
    }
    zones.push_back({{"zone", zone}, {"hours", hours}, {"amps", amps}});
  }
  return zones;
}

void DrawRecord::restore(const Json& saved) {
  zones_.clear();
  for (const Json& one : saved) {
    auto& points = zones_[one.at("zone").get<int>()];
    std::int64_t hour = 0;
    for (std::size_t i = 0; i < one.at("hours").size(); ++i) {
      hour += one["hours"][i].get<std::int64_t>();
      points.push_back({from_ms(hour * kHourMs), one.at("amps").at(i).get<double>() * kStepAmps});
    }
  }
}

}  // namespace coilward
