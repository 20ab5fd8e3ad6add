#include "daemon/alerts/reading_ease.h"

#include <gtest/gtest.h>

#include <map>

namespace coilward {
namespace {

// Counted by hand: 15 words, 2 sentences, 17 syllables.
TEST(ReadingEase, OfAKnownText) {
  EXPECT_NEAR(reading_ease("The cat sat on the mat. It was a very happy cat in the sun.", Language::english),
              206.835 - 1.015 * 15 / 2 - 84.6 * 17 / 15, 0.01);
  // 8 words, 2 sentences, 14 syllables: el ga-to duer-me. la ni-ña be-be a-gua fres-ca.
  EXPECT_NEAR(reading_ease("El gato duerme. La niña bebe agua fresca.", Language::spanish),
              206.835 - 62.3 * 14 / 8 - 8.0 / 2, 0.01);
}

TEST(ReadingEase, SpanishSyllables) {
  for (const auto& [word, count] : std::map<std::string, int>{{"río", 2},
                                                              {"ciudad", 2},
                                                              {"válvula", 3},
                                                              {"aire", 2},
                                                              {"leer", 2},
                                                              {"agua", 2},
                                                              {"guía", 2},
                                                              {"que", 1},
                                                              {"quien", 1},
                                                              {"ahí", 2},
                                                              {"caída", 3},
                                                              {"y", 1}})
    EXPECT_EQ(syllables(word, Language::spanish), count) << word;
}

}  // namespace
}  // namespace coilward
