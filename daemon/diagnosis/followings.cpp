#include "daemon/diagnosis/followings.h"

#include <algorithm>

namespace coilward {

Followings::Way Followings::way(int zone, const std::vector<Phase>& phases) {
  Way way{zone, {}};
  for (const auto& [cause, since, until] : phases) {
    if (std::find(cause.zones.begin(), cause.zones.end(), zone) == cause.zones.end()) continue;
    const bool pair = cause.site_class == SiteClass::crossed_wires;
    way.influences.push_back({cause.site_class, cause.size, since, until, cause.grows_from, cause.grows_to,
                              cause.keeps, cause.first_share, cause.second_share,
                              pair ? cause.zones[cause.zones[0] == zone ? 1 : 0] : -1});
  }
  return way;
}

std::optional<double> Followings::evidence(int zone, const std::vector<Phase>& phases) const {
  const auto it = results_.find(way(zone, phases));
  return it == results_.end() ? std::nullopt : std::optional(it->second.log_evidence);
}

std::shared_ptr<const Followed> Followings::follow(int zone, UtcTime from, const std::vector<Phase>& phases) {
  Result& result = results_[way(zone, phases)];
  if (auto kept = result.whole.lock()) return kept;
  auto followed = std::make_shared<const Followed>(
      filters_[static_cast<std::size_t>(zone)].follow_from(from, effect_of(phases, fitted_)));
  result = {followed->log_evidence, followed};
  return followed;
}

}  // namespace coilward
