// CBOR forms beyond the standard's example, and payloads made to hurt.
#include <gtest/gtest.h>

#include <fstream>
#include <random>

#include "plugins/decoders/decoder_under_test.h"

namespace coilward_plugins {
namespace {

using namespace std::string_literals;

std::string example() {
  const auto json =
      nlohmann::json::parse(std::ifstream(COILWARD_SOURCE_DIR "/tests/reference/formats/senml.json"));
  std::string bytes;
  for (const auto& entry : json["cases"])
    if (entry.contains("cbor_hex_section_6")) {
      const std::string hex = entry["cbor_hex_section_6"];
      for (std::size_t i = 0; i < hex.size(); i += 2)
        bytes += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
    }
  return bytes;
}

TEST(SenmlCbor, CutAtEveryLengthIsRefused) {
  DecoderUnderTest decoder("senml");
  const std::string whole = example();
  for (std::size_t size = 0; size < whole.size(); ++size) {
    EXPECT_FALSE(decoder.try_decode(std::string_view(whole).substr(0, size))) << size;
    EXPECT_NE(decoder.why(), "");
  }
  EXPECT_FALSE(decoder.try_decode(whole + '\0'));
  EXPECT_EQ(decoder.decode(whole).size(), 7u);
}

TEST(SenmlCbor, IndefiniteLengthsFloatsAndUnknownFields) {
  DecoderUnderTest decoder("senml");
  // [_ {_ 0: "a", 2: 1.0_1, "x": [1, {2: 3}], 99: (_ "p", "q"), "_y": h'00'}]
  const auto found = decoder.decode(
      "\x9f\xbf\x00\x61\x61\x02\xf9\x3c\x00\x61x\x82\x01\xa1\x02\x03\x18\x63\x7f\x61p\x61q\xff\x62_y\x41\x00\xff\xff"s);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].name, "a");
  EXPECT_EQ(found[0].value, 1);
  EXPECT_EQ(decoder.decode("\x81\xa2\x00\x61\x61\x02\xfa\x3f\x80\x00\x00"s).at(0).value, 1);
  EXPECT_EQ(decoder.decode("\x81\xa2\x00\x61\x61\x02\x39\x01\x00"s).at(0).value, -257);
  EXPECT_EQ(decoder.decode("\x81\xa2\x00\x61\x61\x04\xf5"s).at(0).unit, "boolean");
  EXPECT_EQ(decoder.decode("\x81\xa2\x00\x61\x61\x08\x42\x01\x02"s).size(), 0u);  // vd: bytes
  EXPECT_EQ(decoder.decode("\x81\xa2\x00\x61\x61\x02\xc1\x01"s).at(0).value, 1);  // a tag says nothing new
  EXPECT_EQ(decoder.decode("\x80"s).size(), 0u);
  EXPECT_EQ(decoder.decode("\x9f\xff"s).size(), 0u);
}

TEST(SenmlCbor, LiesAboutLengthsAndMisplacedItemsAreRefused) {
  DecoderUnderTest decoder("senml");
  const std::string bad[] = {"\x9b\xff\xff\xff\xff\xff\xff\xff\xff"s,              // an array of 2^64-1
                             "\x81\xbb\x7f\xff\xff\xff\xff\xff\xff\xff\x00"s,      // a map of 2^63-1
                             "\x81\xa2\x00\x7b\xff\xff\xff\xff\xff\xff\xff\xff"s,  // a text of 2^64-1
                             "\x81\x01"s,
                             "\x81\x80"s,
                             "\x81\x61\x61"s,
                             "\x81\xf6"s,                      // records that are no maps
                             "\x82\xa2\x00\x61\x61\x02\x01"s,  // one of two records
                             "\x81\xa1\x80\x01"s,
                             "\x81\xa1\xf6\x01"s,  // labels that are none
                             "\x81\xa2\x00\x61\x61\x02\xf6"s,
                             "\x81\xa2\x00\x61\x61\x02\x80"s,
                             "\x81\xa2\x00\x7f\x61\x61\xff\x02\x01"s,
                             "\x81\xa2\x00\x61\x61\x63no_\x01"s,  // must be understood
                             "\x81\xff"s,
                             "\x81\xbf\x00\xff"s,
                             "\x9f\xbf\x00\x61\x61\x02\xff\xff"s,  // breaks in the wrong place
                             "\x81\xa2\x00\x61\x61\x02\x1c"s,
                             "\x81\xa2\x00\x61\x61\x02\xf8\x00"s,  // reserved
                             "\xd9\xd9\xf7\x01"s};
  for (const auto& payload : bad) {
    EXPECT_FALSE(decoder.try_decode(payload)) << ::testing::PrintToString(payload);
    EXPECT_NE(decoder.why(), "");
  }
}

TEST(SenmlCbor, DepthIsBounded) {
  DecoderUnderTest decoder("senml");
  const std::string deep = "\x81\xa1\x61x"s + std::string(100000, '\x81') + "\x01";
  EXPECT_FALSE(decoder.try_decode(deep));
  EXPECT_NE(decoder.why().find("16 levels"), std::string::npos) << decoder.why();
}

TEST(SenmlJson, DepthAndSizeAreSurvived) {
  DecoderUnderTest decoder("senml");
  EXPECT_FALSE(decoder.try_decode(std::string(100000, '[')));
  EXPECT_FALSE(decoder.try_decode(std::string(100000, '[') + std::string(100000, ']')));
  EXPECT_FALSE(decoder.try_decode("[" + std::string(10u << 20, ' ')));
  EXPECT_FALSE(decoder.try_decode("[{\"n\":\"a\xff\",\"v\":1}]"));
  EXPECT_EQ(decoder.decode(R"([{"n":"a","v":1}])").size(), 1u);
}

// Whatever stands in it, a payload is understood or refused with a reason.
TEST(Senml, RandomDamageIsSurvived) {
  DecoderUnderTest decoder("senml");
  std::mt19937_64 random(3);
  const std::string forms[] = {
      example(), R"([{"bn":"x:","bt":1320067464,"n":"a","u":"A","v":1.5},{"n":"b","t":1,"vb":true}])"};
  int understood = 0;
  for (int i = 0; i < 40000; ++i) {
    std::string payload = forms[i % 2];
    for (auto changes = 1 + random() % 4; changes > 0; --changes)
      payload[random() % payload.size()] = static_cast<char>(random());
    if (random() % 4 == 0) payload.resize(random() % payload.size());
    const bool fine = decoder.try_decode(payload);
    EXPECT_TRUE(fine || !decoder.why().empty());
    understood += fine;
  }
  EXPECT_GT(understood, 1000);
  EXPECT_LT(understood, 39000);
}

}  // namespace
}  // namespace coilward_plugins
