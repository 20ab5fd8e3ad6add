// The part of a finding's page that leads to the place: where it may be, what to measure next and what that
// will show, what was measured, and forms to enter more. Thread: the SiteAccess's, but for what is worked
// out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/web/api_route.h"
#include "daemon/web/site_location.h"

namespace coilward {

// What was measured for a finding, and where the fault may be by that.
struct Located {
  KeptReadings kept;
  Location now;
  std::vector<Place> before;  // as they were before the latest reading that counts; empty: there is none
};
struct LocateQuestion {
  KeptReadings kept;
  LocateInput input;
};
Result<LocateQuestion> locate_question(const SiteAccess& site, const Finding& finding);
Located work_out(const LocateQuestion& question);  // thread: any

// Empty where the fault has no place in the wiring: next: what to do, for the top of the page; places: the
// list of them.
struct LocateParts {
  std::string next, places, readings;
};
LocateParts locate_parts(const Call& call, const Finding& finding, const Result<Located>& located);

}  // namespace coilward
