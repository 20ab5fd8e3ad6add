// JSON forms of what a site answers with, beside those of the travelling values (pipeline_json.h). Names are
// part of the interface: they may be added, not removed. Thread: that of the SiteAccess.
#pragma once

#include "daemon/web/site_access.h"

namespace coilward {

// number, name, box, common, on, state, normal, last_run, latest_amps, latest_time, findings
Json zone_to_json(const ZoneState& zone, const Config& config);
// The finding of contract section 5, with acknowledged_by when somebody did.
Json site_finding_to_json(const Finding& finding, const SiteAccess& site);
// {"ok", "stages": [{"stage", "ok", "why", "since"}]}
Json health_to_json(const std::vector<HealthStage>& stages);
bool all_ok(const std::vector<HealthStage>& stages);
Json pause_to_json(const AlertPause& pause);
// Site, its equipment as configured, the process, and the running pauses.
Json site_to_json(const SiteAccess& site);

}  // namespace coilward
