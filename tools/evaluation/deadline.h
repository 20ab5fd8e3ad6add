// How early a fault can be asked to be said.
#pragma once

#include <optional>

#include "tools/evaluation/record.h"

namespace coilward::evaluate {

// With the first affected run; of a common with the first run of the second zone behind the break; without a
// command channel with the second turn that stayed dark. nullopt: it did not run that often.
std::optional<UtcTime> deadline(const TrueFault& fault, const Offered& offered);

}  // namespace coilward::evaluate
