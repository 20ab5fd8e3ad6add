// Runs of one zone laid over one another, from their switch-on: what is another than usual in the last one is
// seen at once. Thread: the SiteAccess's.
#pragma once

#include <string>
#include <vector>

#include "daemon/web/site_access.h"

namespace coilward {

inline constexpr int kLaidChoices[] = {3, 6, 12};
inline constexpr int kLaidUsual = 6;

// <section>...; `runs` the latest first, of which the first `count` are laid and the first stands out. Empty
// for fewer than two. `path` is the page's own, with what chose its part ("/zone/4?range=run").
std::string runs_laid_part(const std::vector<Run>& runs, int count, const ZoneState& zone,
                           const std::string& path, const SiteAccess& site);

}  // namespace coilward
