// A password from whom it belongs to: typed without being shown, or read from standard input or a file; never
// an argument, which every user of the machine could read. Thread: one.
#pragma once

#include <string>

#include "daemon/base/result.h"

namespace coilward {

// file: its first line ("-" or, where nobody types, empty: standard input's). At a terminal it is asked for
// twice. bad_input: two that differ. world: it cannot be read.
Result<std::string> new_password(const std::string& file);

}  // namespace coilward
