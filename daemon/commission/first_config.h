// The configuration that a commissioning writes: what was asked, with what was seen as comments, and every
// other part of the file it began with as it stood. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/commission/commission.h"

namespace coilward {

// before: the text of the file that it began with. bad_config: what it makes of it is refused (parse_config's
// words).
Result<std::string> commissioned_text(const Commissioned& site, std::string_view before, UtcTime now);

}  // namespace coilward
