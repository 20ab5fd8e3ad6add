// The words of an alert: what happened, where, what to measure next and what to be careful about, in short
// plain sentences. Voltages are common practice: a zone output that is on shows 24 to 28 V; a 40 V test
// source shows about 35 V at the far end of a good wire and 0.3 V or less beyond a break. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// One finding of a message, with what its history adds to the words.
struct Telling {
  Finding finding;
  bool worse = false;  // of a message of kind worse: really worse, not only another name
  int times = 0;       // openings, when it comes and goes
  bool comes_and_goes = false;
};

// Fills alert.subject and alert.text from alert.kind and the tellings (at least one).
void word(Alert& alert, const std::vector<Telling>& tellings, const Config& config);

// "Zone 4 (East hedge)", "Zones 1, 2 and 3", "Zones 1 to 16", "The master valve".
std::string zones_in_words(const std::vector<int>& zones, const Config& config);
// "Zone 4 (East hedge) is not watering: its wire, a splice or its coil is broken."
std::string headline(const Finding& finding, const Config& config);

// Text said by someone else, made one line: control characters become spaces, at most `most` bytes at a
// character boundary of UTF-8.
std::string one_line(std::string_view text, std::size_t most = 300);

}  // namespace coilward
