// The catalogue: both languages say the same things.
#include <gtest/gtest.h>

#include <algorithm>
#include <regex>
#include <set>

#include "daemon/alerts/every_message.h"
#include "daemon/alerts/words.h"

namespace coilward {
namespace {

std::set<std::string> names_in(const std::string& text) {
  static const std::regex name(R"(\{([^}]*)\})");
  return {std::sregex_token_iterator(text.begin(), text.end(), name, 1), {}};
}

TEST(Catalogue, BothLanguagesHaveTheSameKeysAndNames) {
  const auto& english = Words::in(Language::english).all();
  const auto& spanish = Words::in(Language::spanish).all();
  for (const auto& [key, text] : spanish) EXPECT_TRUE(english.contains(key)) << key;
  for (const auto& [key, text] : english) {
    ASSERT_TRUE(spanish.contains(key)) << key;
    EXPECT_EQ(names_in(text), names_in(spanish.at(key))) << key;
    EXPECT_EQ(text.find_first_of("\r\t"), std::string::npos) << key;
  }
}

TEST(Catalogue, NothingIsLeftInEnglish) {
  const auto& english = Words::in(Language::english).all();
  const auto& spanish = Words::in(Language::spanish).all();
  for (const auto& [key, text] : english)
    if (std::count(text.begin(), text.end(), ' ') >= 3 && text.find('|') == std::string::npos &&
        names_in(text).size() < 4) {
      EXPECT_NE(text, spanish.at(key)) << key;
    }
}

TEST(Catalogue, HasEveryFaultInEveryTable) {
  for (Language language : kLanguages)
    for (int i = 0; i < kFaults; ++i)
      for (const char* table : {"phrase", "headline.one", "headline.many", "next", "homeowner.what.one",
                                "homeowner.what.many", "homeowner.garden", "homeowner.do"})
        EXPECT_TRUE(Words::in(language).has(fmt::format("{}.{}", table, fault_name(static_cast<Fault>(i)))))
            << table;
}

TEST(Catalogue, FillsNamesOnceAndLeavesOthers) {
  EXPECT_EQ(filled("{a} {b} {a", {{"a", "{b}"}}), "{b} {b} {a");
}

}  // namespace
}  // namespace coilward
