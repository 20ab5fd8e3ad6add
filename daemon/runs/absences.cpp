#include "daemon/runs/absences.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Cycles in a row after which a zone belongs to each of them, and without it until it is told; own judgement.
constexpr int kBelongs = 5, kAwayTold = 3;

}  // namespace

// A cycle of a few zones is by hand, or another programme.
std::vector<int> Absences::end_cycle(const std::vector<int>& seen) {
  std::size_t belonging = 0, here = 0;
  const auto ran = [&](int zone) { return std::find(seen.begin(), seen.end(), zone) != seen.end(); };
  for (const auto& [zone, row] : rows_) {
    belonging += row.present >= kBelongs;
    here += row.present >= kBelongs && ran(zone);
  }
  const bool whole = 2 * here >= belonging;
  for (int zone : seen) {
    Row& row = rows_[zone];
    row = {row.absent > 0 ? 1 : row.present + 1, 0};
  }
  std::vector<int> away;
  for (auto& [zone, row] : rows_)
    if (!ran(zone) && whole && ++row.absent == kAwayTold && row.present >= kBelongs) away.push_back(zone);
  return away;
}

Json Absences::save() const {
  Json rows = Json::array();
  for (const auto& [zone, row] : rows_) rows.push_back({zone, row.present, row.absent});
  return rows;
}

void Absences::restore(const Json& saved) {
  rows_.clear();
  for (const auto& row : saved) rows_[row.at(0)] = {row.at(1), row.at(2)};
}

}  // namespace coilward
