#include "daemon/host/foreign_text.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>
#include <string_view>

namespace coilward {
namespace {

std::string made(std::string_view text, std::size_t longest = 100) {
  return foreign_text({text.data(), text.size()}, longest);
}

TEST(ForeignText, KeepsGoodTextAndReplacesTheRest) {
  EXPECT_EQ(made("grün \xE2\x82\xAC \xF0\x9F\x92\xA7\n"), "grün \xE2\x82\xAC \xF0\x9F\x92\xA7\n");
  EXPECT_EQ(made("a\x1b[31m\tb\x7f"), "a [31m b ");
  EXPECT_EQ(made("\xff\xc0\x80\xed\xa0\x80"), "??????");
  EXPECT_EQ(made("\xE2\x82"), "??");
  EXPECT_EQ(made("abcdef", 3), "abc");
  EXPECT_EQ(made("ab\xE2\x82\xAC", 4), "ab??");  // never half a character
  EXPECT_EQ(foreign_text({nullptr, 5}, 10), "");
}

TEST(ForeignText, IsAlwaysFitForJson) {
  std::mt19937 random(9);
  for (int i = 0; i < 20000; ++i) {
    std::string bytes(random() % 12, '\0');
    for (auto& c : bytes) c = static_cast<char>(random());
    EXPECT_NO_THROW(nlohmann::json(made(bytes)).dump());
  }
}

}  // namespace
}  // namespace coilward
