// The words of an alert for whoever is told, in short plain sentences: a homeowner hears what it means for
// the garden, what to do and what to leave; a technician the fault, its evidence in figures, where it is,
// what to measure next and what to be careful about; a contractor one line to rank among those of other
// sites. The texts are in the catalogue (words.h). Voltages there are common practice: a zone output that is
// on shows 24 to 28 V; a 40 V test source shows about 35 V at the far end of a good wire and 0.3 V or less
// beyond a break. Thread: any.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/alerts/words.h"
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
std::vector<Telling> tellings_of(const Alert& alert);

// Whom the words are for, and what else they depend on.
struct Listener {
  Audience audience = Audience::technician;
  Language language = Language::english;
  std::vector<std::string> others;  // names of those who are told as well, for a homeowner
  double unanswered_h = 0;          // nobody has acknowledged it for so long: it comes to a further person
};

struct Spoken {
  std::string subject;  // one line
  std::string text;
};
// Of any kind but test and digest.
Spoken spoken(const Alert& alert, const Listener& listener, const Config& config);
// Messages that quiet hours held back until now, in one: at least one, the latest of each cause.
Spoken spoken_digest(const std::vector<Alert>& held, UtcTime now, const Listener& listener,
                     const Config& config);

// Fills alert.subject and alert.text, for a technician in English, from alert.kind and the tellings (at least
// one).
void word(Alert& alert, const std::vector<Telling>& tellings, const Config& config);

// "Zone 4 (East hedge)", "Zones 1, 2 and 3", "Zones 1 to 16", "The master valve".
std::string zones_in_words(const std::vector<int>& zones, const Config& config,
                           const Words& words = Words::in(Language::english));
// "Zone 4 (East hedge) is not watering: its wire, a splice or its coil is broken."
std::string headline(const Finding& finding, const Config& config,
                     const Words& words = Words::in(Language::english));
// "a, b and c".
std::string listed(const std::vector<std::string>& words, const Words& language);
// 1 to 99: nothing is certain.
int in_hundred(double probability);

// Text said by someone else, made one line: control characters become spaces, at most `most` bytes at a
// character boundary of UTF-8.
std::string one_line(std::string_view text, std::size_t most = 300);

}  // namespace coilward
