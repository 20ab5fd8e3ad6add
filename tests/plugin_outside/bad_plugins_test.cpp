// Plugins that are wrong in one way each are refused with what was found and what is allowed, or survived.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "daemon/host/plugin_host.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using Settings = nlohmann::ordered_json;

std::string refusal(const std::string& name, const std::string& directory = OUTSIDE_PLUGINS) {
  PluginHost host(directory);
  const auto made = host.decoder(name, Settings::object(), {"site.toml", 3, "[[sensor]] a"});
  return made ? "" : made.error().what;
}

TEST(BadPlugins, AreRefusedWithBothNumbers) {
  const std::pair<const char*, const char*> cases[] = {
      {"bad_abi", "built for plugin ABI 42; this program has ABI 1"},
      {"bad_size", "its descriptor has 12 bytes; ABI 1 has "},
      {"bad_kind", "of kind 'gadget'; allowed are decoder, notifier, exporter"},
      {"bad_name", "it calls itself 'somebody_else'; allowed is the file's name, 'bad_name'"},
      {"bad_functions", "its decoder functions have "},
      {"bad_missing", "one of its decoder functions is missing"},
      {"bad_schema", "config_schema is wrong: a: no such type as \"colour\""},
      {"bad_symbol", "no symbol coilward_plugin_entry"},
      {"bad_refuses", "the moon is not full"}};
  for (const auto& [name, expected] : cases) {
    const std::string found = refusal(name);
    EXPECT_NE(found.find(expected), std::string::npos) << name << ": " << found;
    EXPECT_TRUE(found.starts_with("site.toml:3: [[sensor]] a: ")) << found;
  }
}

TEST(BadPlugins, FilesThatAreNoneAndNamesThatAreNone) {
  const TemporaryDirectory directory;
  std::ofstream(directory / "text.so") << "no shared object";
  EXPECT_NE(refusal("text", directory.path()).find("cannot be opened"), std::string::npos);
  EXPECT_NE(refusal("tex", directory.path()).find("did you mean text?"), std::string::npos);
  for (const char* name : {"../lines", "/etc/passwd", "", "a b", "lines.so"})
    EXPECT_NE(refusal(name).find("no plugin '"), std::string::npos) << name;
  EXPECT_NE(refusal("lines", directory / "nowhere").find("there are none"), std::string::npos);
}

TEST(BadPlugins, RubbishIsSurvived) {
  PluginHost host(OUTSIDE_PLUGINS);
  Decoder decoder = host.decoder("bad_rubbish", Settings::object(), {}).value();
  int given = 0;
  auto take = [&](const coilward_value&) noexcept { ++given; };
  const std::pair<const char*, const char*> refused[] = {{"o", "answered 17"},
                                                         {"r", "without a reason"},
                                                         {"f", ""},
                                                         {"s", "wrong size"},
                                                         {"p", "name of the wrong size"},
                                                         {"l", "unit of the wrong size"},
                                                         {"t", "time of no known kind"},
                                                         {"0", "no value at all"}};
  for (const auto& [payload, why] : refused) {
    EXPECT_FALSE(decoder.decode("a", payload, take)) << payload;
    EXPECT_NE(decoder.why().find(why), std::string::npos) << payload << decoder.why();
  }
  EXPECT_EQ(given, 0);
  for (const char* passed : {"n", "i", "T"})
    EXPECT_TRUE(decoder.decode("a", passed, take)) << passed;  // for intake to judge
  EXPECT_EQ(given, 6);
}

}  // namespace
}  // namespace coilward
