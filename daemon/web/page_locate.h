// The part of a finding's page that leads to the place: where it may be, what to measure next and what that
// will show, what was measured, and forms to enter more. Thread: the SiteAccess's.
#pragma once

#include <string>

#include "daemon/web/api_route.h"

namespace coilward {

// Empty where the fault has no place in the wiring: next: what to do, for the top of the page; places: the
// list of them.
struct LocateParts {
  std::string next, places, readings;
};
LocateParts locate_parts(const Call& call, const Finding& finding);

}  // namespace coilward
