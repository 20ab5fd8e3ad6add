// The standing causes as JSON, for the snapshot.
#pragma once

#include "daemon/base/pipeline_json.h"
#include "daemon/diagnosis/posterior.h"

namespace coilward {

Json phases_to_json(const std::vector<Phase>& phases);
// Phases that name outputs or stretches the site does not have are left out.
std::vector<Phase> phases_from_json(const Json& saved, const SiteElectrics& site);

}  // namespace coilward
