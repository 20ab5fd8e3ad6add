// What pages say of zones and findings, apart from layout. Thread: the SiteAccess's.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/web/site_access.h"

namespace coilward {

// The one glance: a symbol's name, the sentence, and what stands below it. Not escaped.
struct Verdict {
  std::string kind;  // "fine", "urgent", "soon", "watch", "learning", "blind": class and symbol
  std::string head;
  std::string more;
};

// What a zone is at the moment, in one word for class and symbol and a few for people. Not escaped.
struct ZoneWords {
  std::string kind;   // "fine", "urgent", "soon", "watch", "learning", "silent", "unseen"
  std::string state;  // "normal", "broken wire, splice or coil", ...
  double amps = kNotMeasured;
  std::string when;  // "now", "last run", "never ran"
};

// What a page shows of a site, asked once so that all its parts agree.
struct SiteView {
  std::vector<ZoneState> zones;
  std::vector<Finding> open;  // the worst first
  std::vector<HealthStage> trouble;
  std::string unread;  // why findings could not be read
};

SiteView view_of(const SiteAccess& site);
Verdict verdict_of(const SiteView& view, const Config& config);
Verdict verdict_of_zone(const ZoneState& zone, const SiteView& view, const Config& config);
ZoneWords zone_words(const ZoneState& zone, const SiteView& view);
// nullptr: the site has none with this number.
const ZoneState* zone_in(const SiteView& view, int number);

// "between box A and box B"
std::string stretch_words(const Stretch& stretch);
// "the common main", "the wire of zone 4": what is broken there.
std::string conductor_words(const Finding& finding);
std::string_view severity_words(Severity severity);  // "Urgent: ..."
std::string_view run_end_words(RunEnd end);

}  // namespace coilward
