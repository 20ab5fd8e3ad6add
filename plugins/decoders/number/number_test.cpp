#include <gtest/gtest.h>

#include <cstdint>
#include <fstream>
#include <random>

#include "plugins/decoders/decoder_under_test.h"

namespace coilward_plugins {
namespace {

nlohmann::json cases() {
  return nlohmann::json::parse(
      std::ifstream(COILWARD_SOURCE_DIR "/plugins/decoders/number/cases/cases.json"));
}

TEST(NumberDecoder, AcceptsOneNumberOrWord) {
  DecoderUnderTest decoder("number");
  const auto accepted = cases()["accepted"];
  EXPECT_EQ(accepted.size(), 16u);
  for (const auto& entry : accepted) {
    const auto found = decoder.decode(entry[0].get<std::string>());
    ASSERT_EQ(found.size(), 1u) << entry << decoder.why();
    EXPECT_EQ(found[0].value, entry[1].get<double>()) << entry;
    EXPECT_EQ(found[0].unit, entry[2].get<std::string>()) << entry;
    EXPECT_EQ(found[0].name, "");
    EXPECT_EQ(found[0].time_kind, COILWARD_TIME_NONE);
  }
}

TEST(NumberDecoder, RefusesAnythingElseWithAReason) {
  DecoderUnderTest decoder("number");
  const auto refused = cases()["refused"];
  EXPECT_GT(refused.size(), 40u);
  for (const auto& entry : refused) {
    EXPECT_FALSE(decoder.try_decode(entry.get<std::string>())) << entry;
    EXPECT_NE(decoder.why(), "") << entry;
  }
}

TEST(NumberDecoder, AgreesWithTheCLibraryOnRandomNumbers) {
  DecoderUnderTest decoder("number");
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> mantissa(-10, 10);
  for (int i = 0; i < 2000; ++i) {
    char text[64];
    std::snprintf(text, sizeof text, "%.*e", static_cast<int>(random() % 18),
                  mantissa(random) * std::pow(10, static_cast<int>(random() % 40) - 20));
    const auto found = decoder.decode(text);
    ASSERT_EQ(found.size(), 1u) << text;
    EXPECT_EQ(found[0].value, std::strtod(text, nullptr)) << text;
  }
}

TEST(NumberDecoder, SurvivesRandomBytes) {
  DecoderUnderTest decoder("number");
  std::mt19937_64 random(11);
  using std::string_view_literals::operator""sv;
  constexpr auto kCharacters = "0123456789.-+eEonfatrusl ,x\0\xff"sv;
  int accepted = 0;
  for (int i = 0; i < 20000; ++i) {
    std::string bytes(random() % 12, '\0');
    for (auto& c : bytes) c = kCharacters[random() % kCharacters.size()];
    accepted += decoder.try_decode(bytes);
  }
  EXPECT_GT(accepted, 0);
}

TEST(NumberDecoder, HasNoSettings) {
  EXPECT_NE(DecoderUnderTest::refusal("number", {{"unit", "A"}}).find("unknown key"), std::string::npos);
}

}  // namespace
}  // namespace coilward_plugins
