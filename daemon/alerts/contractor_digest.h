// What needs a visit, over all sites, the most pressing first. Thread: any.
#pragma once

#include <vector>

#include "daemon/alerts/wording.h"

namespace coilward {

// alerts: the latest of each cause, of any number of sites. Names of zones and the time zone are config's,
// the names of sites the alerts' own. Order: open before over, then severity, zones out, and how long.
Spoken contractor_digest(const std::vector<Alert>& alerts, const Listener& listener, const Config& config);

}  // namespace coilward
