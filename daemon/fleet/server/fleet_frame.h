// What every page of the contractor's server has around its own part, and the words that several share.
// Thread: any.
#pragma once

#include <string>

#include "daemon/fleet/server/fleet_route.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"

namespace coilward {

// A site as its pages need it: for names and times.
Config fleet_config(const std::string& name, const std::string& timezone);
// The whole document. clock: HTML, now as the page says it; empty: in UTC.
ApiResponse fleet_document(const FleetCall& call, PageParts parts, int status = 200,
                           const std::string& clock = {});
ApiResponse fleet_problem_page(const FleetCall& call, const ApiResponse& problem);
// What was just done.
std::string said_words(const std::string& words);

struct NeedWords {
  const char *kind, *label, *key;  // symbol and class; as a filter; in the query
};
NeedWords need_words(VisitNeed need);
// "3 days", "5 h", "20 min".
std::string age_text(UtcTime since, UtcTime now);
std::string counted(std::int64_t n, const char* one, const char* many);
// One line: why someone should go there; and the same in figures, empty where there are none.
std::string why_go(const SiteLine& line, UtcTime now);
std::string in_figures(const SiteLine& line, UtcTime now);
std::string verdict_html(const Verdict& verdict);

}  // namespace coilward
