#include "daemon/runs/together.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// As many of the latest turns as the timetable goes by.
constexpr std::size_t kTurnsRemembered = 8, kTurnsKnown = 4;
constexpr double kUsually = 0.8;

bool has(const std::vector<int>& zones, int zone) {
  return std::find(zones.begin(), zones.end(), zone) != zones.end();
}

}  // namespace

void Together::began(int zone, UtcTime start) { turns_.push_back({start, {zone}}); }

void Together::joined(int zone) {
  if (!turns_.empty() && !holds(zone)) turns_.back().zones.push_back(zone);
}

bool Together::holds(int zone) const { return !turns_.empty() && has(turns_.back().zones, zone); }

std::vector<int> Together::partners(int zone) const {
  const auto it = with_.find(zone);
  if (it == with_.end() || it->second.size() < kTurnsKnown) return {};
  std::map<int, std::size_t> times;
  for (const auto& others : it->second)
    for (int other : others) ++times[other];
  std::vector<int> usual;
  for (const auto& [other, count] : times)
    if (static_cast<double>(count) >= kUsually * static_cast<double>(it->second.size()))
      usual.push_back(other);
  return usual;
}

int Together::leader(int zone) const {
  const auto usual = partners(zone);
  return usual.empty() ? zone : std::min(zone, usual.front());
}

std::vector<Together::Absent> Together::end_cycle(const std::vector<int>& seen) {
  std::vector<Absent> absent;
  for (const Turn& turn : turns_) {
    bool whole = true;
    for (int zone : turn.zones)
      for (int partner : partners(zone)) {
        if (has(turn.zones, partner) || has(seen, partner)) continue;
        whole = false;
        if (std::none_of(absent.begin(), absent.end(), [&](const Absent& a) { return a.zone == partner; }))
          absent.push_back({partner, turn.start});
      }
    // A broken zone keeps its place: nothing is learned from its absence.
    if (!whole) continue;
    for (int zone : turn.zones) {
      auto others = turn.zones;
      std::erase(others, zone);
      auto& list = with_[zone];
      if (list.size() >= kTurnsRemembered) list.erase(list.begin());
      list.push_back(std::move(others));
    }
  }
  turns_.clear();
  return absent;
}

Json Together::save() const {
  Json with = Json::array(), turns = Json::array();
  for (const auto& [zone, list] : with_) with.push_back({zone, list});
  for (const Turn& turn : turns_) turns.push_back({to_ms(turn.start), turn.zones});
  return {{"with", with}, {"turns", turns}};
}

void Together::restore(const Json& saved) {
  with_.clear();
  turns_.clear();
  for (const auto& it : saved.at("with")) with_[it.at(0)] = it.at(1).get<std::vector<std::vector<int>>>();
  for (const auto& it : saved.at("turns"))
    turns_.push_back({from_ms(it.at(0)), it.at(1).get<std::vector<int>>()});
}

}  // namespace coilward
