// How easy a text is to read, by published formulas, for the tests of what is said to people. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/config/config.h"

namespace coilward {

// English: R. Flesch, "A new readability yardstick", Journal of Applied Psychology 32 (1948):
//   206.835 - 1.015 words/sentence - 84.6 syllables/word.
// Spanish: F. Szigriszt Pazos, doctoral thesis, Universidad Complutense de Madrid (1993):
//   206.835 - 62.3 syllables/word - words/sentence.
// Both formulas from memory. Numbers are no words; a line's end ends a sentence. Higher is easier; a text
// without words is 0.
double reading_ease(const std::string& text, Language language);
// English by rule of thumb (groups of vowels, silent e), Spanish by its rules of hiatus. At least 1.
int syllables(std::string_view word, Language language);

}  // namespace coilward
