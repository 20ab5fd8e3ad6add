// What is said of each fault, apart from when and where.
#pragma once

#include <string>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// The fault in a few words, to follow "the": "broken wire, splice or coil".
std::string_view fault_phrase(Fault fault);
// The test reading to take next, as sentences.
std::string next_reading(const Finding& finding, const Config& config);
// Cautions for whoever takes it, as sentences.
std::string cautions(Fault fault);

}  // namespace coilward
