#pragma once

#include <string>

#include "daemon/base/result.h"

namespace coilward::simulate {

// A whole file from text; an empty path writes nothing. world: it cannot be written.
Result<bool> write_text_file(const std::string& path, const std::string& text);

}  // namespace coilward::simulate
