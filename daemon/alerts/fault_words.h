// What is said of each fault, apart from when and where. The texts are in the catalogue (words.h).
#pragma once

#include <string>
#include <vector>

#include "daemon/alerts/words.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// The fault in a few words, in English to follow "the": "broken wire, splice or coil".
std::string_view fault_phrase(Fault fault, const Words& words = Words::in(Language::english));
// The test reading to take next, as sentences.
std::string next_reading(const Finding& finding, const Config& config,
                         const Words& words = Words::in(Language::english));
// All that is to be minded on a visit, one or two sentences each; what this fault adds comes first.
std::vector<std::string> visit_cautions(Fault fault, const Words& words = Words::in(Language::english));
// Cautions for whoever takes it, as sentences.
std::string cautions(Fault fault, const Words& words = Words::in(Language::english));

}  // namespace coilward
