// The pages about sites as HTML, from what FleetViews read. They work without a script. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/fleet/server/fleet_frame.h"

namespace coilward {

// Sites by what needs a visit first. organisation: its name.
ApiResponse sites_page(const FleetCall& call, const SiteList& list, const SiteFilter& filter,
                       const std::string& organisation);
// One site: its findings, zones, and what is wrong with coilward there. colleagues: who can be sent there,
// for whoever may send them.
ApiResponse site_page(const FleetCall& call, const SiteDetail& detail,
                      const std::vector<std::string>& colleagues);

}  // namespace coilward
