#include "daemon/alerts/reading_ease.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "daemon/alerts/every_message.h"

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

struct Ease {
  double worst = 1000, sum = 0;
  int texts = 0;
  std::string worst_text;
  void add(double ease, const std::string& text) {
    sum += ease;
    ++texts;
    if (ease < worst) worst = ease, worst_text = text;
  }
  double mean() const { return sum / texts; }
};

Ease ease_of(Audience audience, Language language) {
  Ease all;
  for (auto alert : every_alert()) {
    alert.findings[0].id = "1";
    const auto text = spoken(alert, to(audience, language), test_site()).text;
    all.add(reading_ease(text, language), text);
  }
  return all;
}

// Flesch 1948: 60 to 70 is standard, 70 to 80 fairly easy. Szigriszt Pazos 1993 on the INFLESZ scale (Barrio
// Cantalejo 2008): 55 to 65 is normal, 65 to 80 rather easy. Both scales from memory.
TEST(ReadingEase, AHomeownersTextsAreEasy) {
  for (Language language : kLanguages) {
    const Ease ease = ease_of(Audience::homeowner, language);
    RecordProperty(std::string("mean_") + std::string(language_name(language)), std::to_string(ease.mean()));
    fmt::print("homeowner {}: mean {:.1f}, lowest {:.1f}\n", language_name(language), ease.mean(),
               ease.worst);
    EXPECT_GE(ease.worst, 70) << ease.worst_text;
    EXPECT_GE(ease.mean(), 80);
  }
}

TEST(ReadingEase, ATechniciansTextsCanBeReadAtAGlance) {
  for (Language language : kLanguages) {
    const Ease ease = ease_of(Audience::technician, language);
    fmt::print("technician {}: mean {:.1f}, lowest {:.1f}\n", language_name(language), ease.mean(),
               ease.worst);
    EXPECT_GE(ease.mean(), 60) << ease.worst_text;
  }
}

}  // namespace
}  // namespace coilward
