// What a technician takes along for one finding, as values: what is wrong, where, the evidence, the readings
// in order, parts and cautions, and afterwards the repair. The page, the API and the command line show the
// same. Thread: the SiteAccess's, but for what is worked out, which takes up to a second for a finding and
// has copies of all it needs but the configuration.
#pragma once

#include <string>
#include <vector>

#include "daemon/locate/visit_guide.h"
#include "daemon/locate/visit_parts.h"
#include "daemon/web/site_location.h"

namespace coilward {

struct VisitSheet {
  Finding finding;
  std::string title;      // one sentence
  int zone = -1;          // whose runs and wire are shown; -1: none
  std::vector<Run> runs;  // its latest ones, the latest first
  NormalDraw normal;      // of that zone
  WirePath path;          // of that zone
  KeptReadings kept;      // what was measured so far
  // Worked out:
  Location location;
  std::vector<GuideStep> steps;
  std::string usual;  // what to measure, where no step can be worked out; empty for a finding that is over
  std::vector<VisitPart> parts;
  std::vector<std::string> cautions;
};

// A sheet as far as the site knows it, and what is to be thought about.
struct SheetQuestion {
  VisitSheet sheet;
  LocateInput input;
};
// Errors: those of SiteAccess::test_readings. Runs that cannot be read are none.
Result<SheetQuestion> sheet_question(const SiteAccess& site, const Finding& finding);
VisitSheet work_out(SheetQuestion question);  // thread: any

// Open findings, the worst first; no more sheets than this are put together at once, as each takes thought.
// Own choice: more than one van does in a day.
inline constexpr std::size_t kMostSheets = 12;
struct SiteVisit {
  std::vector<VisitSheet> sheets;
  std::size_t left_out = 0;           // open findings beyond
  std::vector<VisitPart> parts;       // of all, each once
  std::vector<std::string> cautions;  // likewise
};
struct VisitQuestion {
  std::vector<SheetQuestion> sheets;
  std::size_t left_out = 0;
};
Result<VisitQuestion> visit_question(const SiteAccess& site);
SiteVisit work_out(VisitQuestion question);  // thread: any

Json sheet_to_json(const VisitSheet& sheet, const SiteAccess& site);
Json site_visit_to_json(const SiteVisit& visit, const SiteAccess& site);

// What the repaired outputs should draw, as the proof says or, before there is one, as is normal: "0.214 to
// 0.248 A"; empty when that is not known.
std::string repair_target_text(const VisitSheet& sheet);
// How it is said that it is repaired: "4", "main"; empty when nothing can be marked.
std::string repair_target_name(const VisitSheet& sheet, const Config& config);

}  // namespace coilward
