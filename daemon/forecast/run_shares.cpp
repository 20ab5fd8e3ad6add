#include "daemon/forecast/run_shares.h"

#include <algorithm>
#include <map>

#include "daemon/forecast/robust_trend.h"

namespace coilward {
namespace {

// Other zones' runs this near tell what moved all of them (own choice: zones run about once a day).
constexpr Millis kNear = std::chrono::hours{48};

using Levels = std::map<int, double>;  // normal hold amps by zone

Levels levels_of(const std::vector<NormalDraw>& normals) {
  Levels levels;
  for (const NormalDraw& normal : normals)
    if (!normal.provisional && measured(normal.hold_amps) && normal.hold_amps > 0)
      levels[normal.zone] = normal.hold_amps;
  return levels;
}

// 0: it says nothing.
double ratio_of(const Run& run, const Levels& levels) {
  const auto normal = levels.find(run.zone);
  const bool tells = normal != levels.end() && measured(run.hold_amps) && run.hold_amps > 0 &&
                     run.shared_with.empty() && !run.inferred;
  return tells ? run.hold_amps / normal->second : 0;
}

// What the other zones' runs about then show, 1 when there are none.
double shared_part(const Run& run, const std::vector<Run>& runs, const Levels& levels) {
  std::vector<double> ratios;
  for (const Run& other : runs)
    if (other.zone != run.zone && other.zone != kMasterZone &&
        std::chrono::abs(other.start - run.start) <= kNear)
      if (const double ratio = ratio_of(other, levels); ratio > 0) ratios.push_back(ratio);
  return ratios.empty() ? 1 : median_of(std::move(ratios));
}

}  // namespace

std::vector<DrawShare> shares_of(int zone, const std::vector<Run>& runs,
                                 const std::vector<NormalDraw>& normals) {
  const Levels levels = levels_of(normals);
  std::vector<DrawShare> shares;
  for (const Run& run : runs)
    if (run.zone == zone)
      if (const double ratio = ratio_of(run, levels); ratio > 0)
        shares.push_back({run.start, ratio / shared_part(run, runs, levels)});
  std::sort(shares.begin(), shares.end(),
            [](const DrawShare& a, const DrawShare& b) { return a.time < b.time; });
  return shares;
}

}  // namespace coilward
