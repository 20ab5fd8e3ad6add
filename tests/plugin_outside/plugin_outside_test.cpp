// Plugins from a source tree of their own, built against the installed headers alone, in C11 and in C++17.
#include <gtest/gtest.h>

#include <filesystem>

#include "daemon/intake/intake.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using Settings = nlohmann::ordered_json;

const PluginPlace kPlace{"site.toml", 7, "[[sensor]] a"};

PluginHost outside() { return PluginHost(OUTSIDE_PLUGINS); }

std::vector<double> values(Decoder& decoder, std::string_view payload) {
  std::vector<double> list;
  auto take = [&](const coilward_value& value) noexcept { list.push_back(value.value); };
  if (!decoder.decode("a", payload, take)) list.clear();
  return list;
}

TEST(PluginOutside, InC11) {
  auto host = outside();
  Decoder lines = host.decoder("lines", Settings::object(), kPlace).value();
  EXPECT_EQ(values(lines, "zone/4/current 0.231 A\nnonsense\nsupply/voltage 26 V 5"),
            (std::vector<double>{0.231, 26}));
  Decoder strict = host.decoder("lines", {{"strict", true}}, kPlace).value();
  EXPECT_TRUE(values(strict, "zone/4/current 0.231 A\nnonsense").empty());
  EXPECT_EQ(strict.why(), "a line is not: name value unit");
  EXPECT_EQ(values(lines, "zone/4/current 0.1 A").size(), 1u);  // two objects of one plugin
  EXPECT_NE(host.decoder("lines", {{"strict", "yes"}}, kPlace)
                .error()
                .what.find("site.toml:7: [[sensor]] a: strict: found"),
            std::string::npos);
}

TEST(PluginOutside, InCpp) {
  auto host = outside();
  Decoder scaled = host.decoder("scaled", {{"factor", 0.01}}, kPlace).value();
  EXPECT_EQ(values(scaled, "25"), std::vector<double>{0.25});
  EXPECT_TRUE(values(scaled, "25x").empty());
  EXPECT_EQ(scaled.why(), "more than a number");
  EXPECT_TRUE(values(scaled, "throw").empty());
  EXPECT_EQ(scaled.why(), "thrown inside");
  EXPECT_TRUE(values(scaled, "throw nothing").empty());
  EXPECT_NE(scaled.why(), "");
  EXPECT_TRUE(values(scaled, "abc").empty());
  EXPECT_EQ(values(scaled, "50"), std::vector<double>{0.5});
  EXPECT_NE(host.decoder("scaled", Settings::object(), kPlace).error().what.find("factor: missing"),
            std::string::npos);
  const auto refused = host.decoder("scaled", {{"factor", 0}}, kPlace);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().cause, Cause::bad_config);
  EXPECT_NE(refused.error().what.find("a factor of 0 makes everything 0"), std::string::npos);
}

TEST(PluginOutside, TheWrongKindIsRefused) {
  auto host = outside();
  EXPECT_NE(host.notifier("lines", Settings::object(), kPlace)
                .error()
                .what.find("of kind decoder; needed is a notifier"),
            std::string::npos);
  EXPECT_NE(host.exporter("lines", Settings::object(), kPlace).error().what.find("needed is a exporter"),
            std::string::npos);
}

// Beside the built-in ones, named in a site's configuration, down to readings.
TEST(PluginOutside, ServesASensorOfASite) {
  const TemporaryDirectory directory;
  for (const char* name : {"number", "senml", "json"})
    std::filesystem::create_symlink(std::string(COILWARD_BINARY_DIR "/plugins/") + name + ".so",
                                    directory / (std::string(name) + ".so"));
  std::filesystem::create_symlink(OUTSIDE_PLUGINS "/lines.so", directory / "lines.so");
  const Config config =
      parse_config(
          "[site]\nid = \"a\"\n[[zone]]\nnumber = 4\n[[sensor]]\ntopic = \"pi/+\"\nchannel = "
          "\"zone/4/current\"\nunit = \"mA\"\ndecoder = \"lines\"\nstrict = true\n",
          "site.toml")
          .value();
  PluginHost host(directory.path());
  const auto intake = Intake::make(config, host).value();
  const auto readings = intake->message({"pi/1", "x 231 mA 2\ny 0.232 A", from_ms(1777875129000)});
  ASSERT_EQ(readings.size(), 2u);
  EXPECT_NEAR(readings[0].value, 0.231, 1e-12);
  EXPECT_EQ(readings[0].time, from_ms(1777875127000));
  EXPECT_TRUE(intake->message({"pi/1", "nonsense", from_ms(1777875129000)}).empty());
  EXPECT_EQ(intake->counters().rejected[static_cast<std::size_t>(Reject::undecodable)], 1u);
}

}  // namespace
}  // namespace coilward
