#include <gtest/gtest.h>

#include <fstream>
#include <random>

#include "plugins/decoders/decoder_under_test.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::ordered_json;

Json file(const std::string& name) { return Json::parse(std::ifstream(COILWARD_SOURCE_DIR + name)); }
Json cases() { return file("/plugins/decoders/json/cases/cases.json"); }

TEST(JsonDecoder, FindsValueTimeAndUnit) {
  const Json accepted = cases()["accepted"];
  EXPECT_EQ(accepted.size(), 20u);
  for (const auto& entry : accepted) {
    SCOPED_TRACE(entry.dump());
    DecoderUnderTest decoder("json", entry[0]);
    const auto found = decoder.decode(entry[1].get<std::string>());
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].value, entry[2].get<double>());
    EXPECT_EQ(found[0].unit, entry[3].get<std::string>());
    EXPECT_EQ(found[0].time_kind, entry[4].is_null() ? COILWARD_TIME_NONE : COILWARD_TIME_ABSOLUTE);
    EXPECT_EQ(found[0].time_us, entry[4].is_null() ? 0 : entry[4].get<std::int64_t>());
  }
}

TEST(JsonDecoder, RefusesAnythingElseAndSaysWhy) {
  const Json refused = cases()["refused"];
  EXPECT_EQ(refused.size(), 25u);
  for (const auto& entry : refused) {
    DecoderUnderTest decoder("json", entry[0]);
    EXPECT_FALSE(decoder.try_decode(entry[1].get<std::string>())) << entry;
    EXPECT_NE(decoder.why(), "");
    EXPECT_NE(decoder.why().find(entry[2].get<std::string>()), std::string::npos) << entry << decoder.why();
  }
}

// What a pointer finds is told apart by what the decoder says of it: a number, a text or a list.
TEST(JsonDecoder, PointersOfTheStandard) {
  const Json reference = file("/tests/reference/formats/json_pointer.json");
  const std::string document = reference["document"].dump();
  int numbers = 0;
  for (const auto& entry : reference["valid"]) {
    DecoderUnderTest decoder("json", {{"value", entry[0]}, {"time", "/none"}, {"unit_pointer", "/none"}});
    const bool understood = decoder.try_decode(document);
    EXPECT_EQ(understood, entry[1].is_number()) << entry << decoder.why();
    if (understood) {
      EXPECT_EQ(decoder.decode(document).at(0).value, entry[1].get<double>()) << entry;
      ++numbers;
    } else {
      EXPECT_EQ(decoder.why().find("nothing at"), std::string::npos) << entry << decoder.why();
    }
  }
  EXPECT_EQ(numbers, 9);
}

TEST(JsonDecoder, PointersThatFindNothingOrAreNone) {
  const Json reference = file("/tests/reference/formats/json_pointer.json");
  for (const auto& entry : reference["errors"]) {
    const std::string text = entry;
    const std::string pointer = text.substr(0, text.find(' '));
    const std::string refusal = DecoderUnderTest::refusal("json", {{"value", pointer}});
    if (!refusal.empty()) {
      EXPECT_NE(refusal.find("value: found"), std::string::npos) << refusal;
      continue;
    }
    DecoderUnderTest decoder("json", {{"value", pointer}});
    EXPECT_FALSE(decoder.try_decode(reference["document"].dump())) << pointer;
    EXPECT_NE(decoder.why().find("nothing at"), std::string::npos) << pointer << decoder.why();
  }
  EXPECT_NE(DecoderUnderTest::refusal("json", {{"value", "foo/bar"}}), "");
  EXPECT_NE(DecoderUnderTest::refusal("json", {{"value", "/a~2b"}}), "");
  DecoderUnderTest tilde("json", {{"value", "/~01"}});  // ~1 is decoded before ~0: the key is "~1"
  EXPECT_EQ(tilde.decode(R"({"~1": 7, "/": 8})").at(0).value, 7);
}

// Section 6's form is for URIs; a setting has the plain form of section 5, and no second way to write it.
TEST(JsonDecoder, UriFragmentsAreNoPointers) {
  const Json reference = file("/tests/reference/formats/json_pointer.json");
  for (const auto& entry : reference["uri_fragment"])
    EXPECT_NE(DecoderUnderTest::refusal("json", {{"value", entry[0]}}).find("RFC 6901"), std::string::npos)
        << entry;
}

TEST(JsonDecoder, SettingsAreChecked) {
  EXPECT_NE(DecoderUnderTest::refusal("json", {{"vaule", "/a"}}).find("did you mean value?"),
            std::string::npos);
  EXPECT_NE(DecoderUnderTest::refusal("json", {{"time_unit", "m"}}).find("\"ms\""), std::string::npos);
  EXPECT_NE(DecoderUnderTest::refusal("json", {{"numbers_as_text", "yes"}}).find("true or false"),
            std::string::npos);
}

TEST(JsonDecoder, DepthSizeAndDamageAreSurvived) {
  DecoderUnderTest decoder("json");
  EXPECT_FALSE(decoder.try_decode("{\"value\":" + std::string(100000, '[')));
  EXPECT_FALSE(decoder.try_decode("{\"value\":" + std::string(100000, '[') + std::string(100000, ']') + "}"));
  EXPECT_FALSE(decoder.try_decode("{\"value\": \"\xff\"}"));
  EXPECT_EQ(decoder.decode("{\"pad\": \"" + std::string(10u << 20, 'x') + "\", \"value\": 1}").size(), 1u);
  std::mt19937_64 random(5);
  const std::string whole = R"({"value": 0.231, "unit": "A", "time": "2026-05-04T06:12:09Z"})";
  for (int i = 0; i < 20000; ++i) {
    std::string payload = whole;
    for (auto changes = 1 + random() % 3; changes > 0; --changes)
      payload[random() % payload.size()] = static_cast<char>(random());
    const bool understood = decoder.try_decode(payload);
    EXPECT_TRUE(understood || !decoder.why().empty());
  }
  for (std::size_t size = 0; size < whole.size(); ++size)
    EXPECT_FALSE(decoder.try_decode(whole.substr(0, size)));
}

}  // namespace
}  // namespace coilward_plugins
