// The contractor's pages as HTML, from what FleetViews read. They work without a script. Thread: any.
#pragma once

#include <string>

#include "daemon/fleet/server/fleet_views.h"
#include "daemon/web/api.h"

namespace coilward {

// Sites by what needs a visit first.
ApiResponse sites_page(const SiteList& list, const SiteFilter& filter, UtcTime now);
// One site: its findings, zones, and what is wrong with coilward there. token: of our own forms.
ApiResponse site_page(const SiteDetail& detail, UtcTime now, const std::string& token,
                      const std::string& said);
ApiResponse fleet_problem_page(const ApiResponse& problem, UtcTime now);

}  // namespace coilward
