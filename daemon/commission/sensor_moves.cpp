#include "daemon/commission/sensor_moves.h"

#include <algorithm>

namespace coilward {
namespace {

// The smallest coil takes 0.1 A (common practice); a sensor's zero and a neighbour's field stay below this.
constexpr double kRise = 0.05;
// Amps taken for milliamps: a thousandth of that, if it is far above what the sensor shows at rest.
constexpr double kTinyRise = kRise / 1000, kTimesRest = 20;

const LiveZone* find_zone(const LiveZones& zones, int number) {
  const auto it = std::ranges::find_if(zones, [&](const LiveZone& z) { return z.number == number; });
  return it == zones.end() ? nullptr : &*it;
}

double rest_of(const LiveZones& before, int number) {
  const LiveZone* zone = find_zone(before, number);
  return zone && measured(zone->amps) ? std::max(0.0, zone->amps) : 0;
}

bool heard_since(const LiveZones& before, const LiveZone& now) {
  const LiveZone* zone = find_zone(before, now.number);
  return now.time != kNever && (!zone || now.time > zone->time);
}

}  // namespace

std::vector<Moved> moved_since(const LiveZones& before, const LiveZones& now) {
  std::vector<Moved> plain, odd;
  for (const LiveZone& zone : now) {
    const double rest = rest_of(before, zone.number), rise = zone.amps - rest;
    const LiveZone* was = find_zone(before, zone.number);
    if (measured(zone.refused) && zone.refused > 0 && !(was && was->refused == zone.refused))
      odd.push_back({zone.number, zone.refused, true});
    else if (heard_since(before, zone) && rise > kRise)
      plain.push_back({zone.number, zone.amps, false});
    else if (heard_since(before, zone) && rise > kTinyRise && zone.amps > kTimesRest * rest)
      odd.push_back({zone.number, zone.amps, false});
  }
  auto& moved = plain.empty() ? odd : plain;
  std::ranges::sort(moved, [](const Moved& a, const Moved& b) { return a.amps > b.amps; });
  return moved;
}

bool still_up(const LiveZones& before, const LiveZones& now, int number) {
  const auto moved = moved_since(before, now);
  return std::ranges::any_of(moved, [&](const Moved& m) { return m.number == number && !m.refused; });
}

MoveVerdict judge_moves(const std::vector<Moved>& moved, int commanded) {
  if (moved.empty()) return MoveVerdict::nothing;
  const bool own = std::ranges::any_of(moved, [&](const Moved& m) { return m.number == commanded; });
  if (own) return moved.size() == 1 ? MoveVerdict::own : MoveVerdict::together;
  return moved.size() == 1 ? MoveVerdict::other : MoveVerdict::others;
}

}  // namespace coilward
