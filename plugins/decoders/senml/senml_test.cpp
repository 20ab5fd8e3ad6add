// The packs of RFC 8428 and its rules, each in the form the standard gives it.
#include <gtest/gtest.h>

#include <fstream>

#include "plugins/decoders/decoder_under_test.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

const Json& reference() {
  static const Json json =
      Json::parse(std::ifstream(COILWARD_SOURCE_DIR "/tests/reference/formats/senml.json"));
  return json;
}

const Json& section(const std::string& name) {
  for (const auto& entry : reference()["cases"])
    if (entry["section"] == name) return entry;
  throw std::runtime_error("no case " + name);
}

std::string bytes_of(const std::string& hex) {
  std::string bytes;
  for (std::size_t i = 0; i < hex.size(); i += 2)
    bytes += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
  return bytes;
}

void expect_resolved(const std::vector<FoundValue>& found, const Json& resolved) {
  ASSERT_EQ(found.size(), resolved.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_EQ(found[i].name, resolved[i]["n"]) << i;
    EXPECT_EQ(found[i].unit, resolved[i]["u"]) << i;
    EXPECT_DOUBLE_EQ(found[i].value, resolved[i]["v"].get<double>()) << i;
    EXPECT_EQ(found[i].time_kind, resolved[i].contains("t") ? COILWARD_TIME_ABSOLUTE : COILWARD_TIME_NONE)
        << i;
    EXPECT_EQ(found[i].time_us, std::llround(resolved[i].value("t", 0.0) * 1e6)) << i;
  }
}

TEST(Senml, ResolvesThePacksOfTheStandard) {
  DecoderUnderTest decoder("senml");
  int packs = 0;
  for (const auto& entry : reference()["cases"])
    if (entry.contains("resolved")) {
      SCOPED_TRACE(entry["section"]);
      expect_resolved(decoder.decode(entry["pack"].dump()), entry["resolved"]);
      ++packs;
    }
  EXPECT_EQ(packs, 3);
}

TEST(Senml, CborOfSection6SaysTheSameAsTheJson) {
  DecoderUnderTest decoder("senml");
  const Json& entry = section("5.1.2 second");
  const std::string cbor = bytes_of(entry["cbor_hex_section_6"]);
  ASSERT_EQ(cbor.size(), 195u);
  expect_resolved(decoder.decode(cbor), entry["resolved"]);
}

TEST(Senml, BaseNameOfTheThirdRecordBaseTimeOfTheFirst) {
  DecoderUnderTest decoder("senml");
  const Json& entry = section("5.1.6");
  const auto found = decoder.decode(entry["pack"].dump());
  ASSERT_EQ(found.size(), 4u);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ(found[i].name, entry["names"][i]);
    EXPECT_EQ(found[i].time_us, 1320078429'000000);
  }
  EXPECT_EQ(found[2].value, 12.3);
}

TEST(Senml, TextsAndDataAreNoReadings) {
  DecoderUnderTest decoder("senml");
  const auto found = decoder.decode(section("5.1.5")["pack"].dump());
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0].name, "urn:dev:ow:10e2073a01080063:temp");
  EXPECT_EQ(found[1].name, "urn:dev:ow:10e2073a01080063:open");
  EXPECT_EQ(found[1].value, 0);
  EXPECT_EQ(found[1].unit, "boolean");
}

TEST(Senml, TimesBelowTwoToThe28AreRelative) {
  DecoderUnderTest decoder("senml");
  const auto time_of = [&](const std::string& fields) {
    return decoder.decode("[{\"n\":\"a\"," + fields + ",\"v\":1}]").at(0);
  };
  EXPECT_EQ(time_of("\"t\":268435456").time_kind, COILWARD_TIME_ABSOLUTE);  // 1978-07-04T21:24:16Z
  EXPECT_EQ(time_of("\"t\":268435455").time_kind, COILWARD_TIME_RELATIVE);
  EXPECT_EQ(time_of("\"bt\":268435400,\"t\":56").time_kind, COILWARD_TIME_ABSOLUTE);
  EXPECT_EQ(time_of("\"bt\":268435400,\"t\":55.999").time_kind, COILWARD_TIME_RELATIVE);
  EXPECT_EQ(time_of("\"t\":-0.03").time_us, -30000);
  EXPECT_EQ(time_of("\"t\":0").time_kind, COILWARD_TIME_RELATIVE);
  EXPECT_EQ(time_of("\"bt\":1320067464.123456").time_us, 1320067464'123456);
}

TEST(Senml, BaseValueIsAddedAndBaseSumIsNoValue) {
  DecoderUnderTest decoder("senml");
  const auto found = decoder.decode(R"([{"bn":"x:","n":"a","bv":20,"v":-0.5},{"n":"b","v":1},{"n":"c"}])");
  ASSERT_EQ(found.size(), 3u);
  EXPECT_EQ(found[0].value, 19.5);
  EXPECT_EQ(found[1].value, 21);
  EXPECT_EQ(found[2].value, 20);  // section 4.5.4: a missing value is 0
  EXPECT_EQ(decoder.decode(R"([{"n":"a","s":5},{"n":"b","v":1,"s":7}])").size(), 1u);
  EXPECT_EQ(decoder.decode(R"([{"n":"a","bs":5},{"n":"b"}])").size(), 0u);
}

TEST(Senml, UnknownFieldsArePassedOver) {
  DecoderUnderTest decoder("senml");
  EXPECT_EQ(decoder.decode(R"([{"n":"a","x":[1,{"v":2}],"_y":null,"v":1,"ut":5}])").at(0).value, 1);
  EXPECT_EQ(decoder.decode("[]").size(), 0u);
  EXPECT_EQ(decoder.decode(" \n[{\"n\":\"a\",\"v\":1}]\r\n").size(), 1u);
}

TEST(Senml, RefusesWhatBreaksTheStandardAndSaysWhy) {
  DecoderUnderTest decoder("senml");
  for (const auto& entry :
       Json::parse(std::ifstream(COILWARD_SOURCE_DIR "/plugins/decoders/senml/cases/refused.json"))) {
    EXPECT_FALSE(decoder.try_decode(entry[0].get<std::string>())) << entry;
    EXPECT_NE(decoder.why().find(entry[1].get<std::string>()), std::string::npos) << entry << decoder.why();
    EXPECT_NE(decoder.why(), "");
    EXPECT_EQ(decoder.decode(R"([{"n":"a","v":1}])").size(), 1u) << "after " << entry;
  }
}

}  // namespace
}  // namespace coilward_plugins
