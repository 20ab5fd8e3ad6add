#include "daemon/diagnosis/company.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

constexpr auto kLately = std::chrono::hours(1);
// A load is not believed beyond these.
constexpr double kMostLoad = 3;

}  // namespace

// The latest look at an output, unless it is an old one.
const Observation* Company::lately(int at, const Run& run) const {
  if (at < 0) return nullptr;
  const auto& window = filters_[static_cast<std::size_t>(at)].window();
  if (window.empty() || window.back().seen < run.start - kLately) return nullptr;
  return &window.back();
}

bool Company::has_short(const Run& run) const {
  return std::any_of(run.shared_with.begin(), run.shared_with.end(), [&](int zone) {
    const Observation* other = lately(site_.index_of(zone), run);
    if (!other || other->seen < run.start) return false;
    return other->hold_ratio > kShort || (other->cut_out && !(other->before_cut_ratio < kShort));
  });
}

std::vector<double> Company::loads(const Run& run) const {
  std::vector<double> loads;
  for (const int zone : run.shared_with) {
    const Observation* other = lately(site_.index_of(zone), run);
    const bool seen = other && measured(other->hold_ratio);
    loads.push_back(seen ? std::min(other->hold_ratio, kMostLoad) : 1);
  }
  return loads;
}

void Company::add(SharedCommon& shared, const Run& run, int at, const NormalDraw& normal) const {
  const Observation* other = lately(at, run);
  if (other && measured(other->observed_amps)) {
    shared.other_amps += std::max(0.0, other->observed_amps);
    return;
  }
  shared.other_amps += normal.hold_amps;
  shared.other_variance += std::pow((normal.hold_high - normal.hold_low) / (2 * 1.96), 2);
}

}  // namespace coilward
