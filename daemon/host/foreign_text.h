// Text that came over the C ABI, made fit for logs, JSON and pages.
#pragma once

#include <string>

#include "plugins/plugin.h"

namespace coilward {

// At most `longest` bytes, valid UTF-8 (anything else becomes '?'), control characters but for line ends as
// spaces. A null pointer is empty text.
std::string foreign_text(coilward_text text, std::size_t longest);

}  // namespace coilward
