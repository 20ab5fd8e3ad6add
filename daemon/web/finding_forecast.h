// How long a corroding splice will still do, as a part of a finding's page. Thread: the SiteAccess's.
#pragma once

#include <string>

#include "daemon/config/config.h"

namespace coilward {

// Empty where nothing useful can be said.
std::string forecast_part(const Finding& finding, const Config& config);

}  // namespace coilward
