// Parts that several pages show. Thread: the SiteAccess's.
#pragma once

#include <string>

#include "daemon/web/api_route.h"
#include "daemon/web/page_words.h"

namespace coilward {

std::string verdict_part(const Verdict& verdict);
std::string finding_cards(const std::vector<Finding>& findings, const Call& call);
// zone: -1 for the site.
std::string pause_part(const Call& call, int zone);
// To the page that is held in hand at the zone's valve.
std::string live_link(int zone);
// Of a test under way, or the way to one; empty where that is not allowed.
std::string test_run_part(const Call& call, int zone);
// Each channel: what it was, what is normal (page_finding.cpp).
std::string evidence_table(const Finding& finding, const Config& config, UtcTime now);
// What was said to be repaired, and whether runs prove it; empty when nothing was (page_finding.cpp).
std::string repair_part(const Finding& finding, const Config& config);
std::string repaired_form(const Call& call, int zone, const std::string& common);

}  // namespace coilward
