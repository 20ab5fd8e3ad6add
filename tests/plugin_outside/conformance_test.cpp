// Every built plugin: a sound descriptor, a folder with README.md and sample.toml, each key explained, and a
// sample that fits, with its commented defaults too.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>

#include "daemon/config/config.h"
#include "daemon/host/plugin_host.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;

std::string contents(const fs::path& path) {
  std::ifstream file(path);
  return {std::istreambuf_iterator<char>(file), {}};
}

// plugins/decoders/NAME and the like; empty when there is none.
fs::path folder_of(const std::string& name) {
  for (const auto& kind : fs::directory_iterator(COILWARD_SOURCE_DIR "/plugins"))
    if (kind.is_directory() && fs::exists(kind.path() / name / "CMakeLists.txt")) return kind.path() / name;
  return {};
}

// The settings of the plugin in a piece of configuration.
nlohmann::ordered_json settings_in(const std::string& sample, const std::string& name) {
  const Config config =
      parse_config("[site]\nid = \"sample\"\n[[zone]]\nnumber = 4\n" + sample, "sample.toml").value();
  for (const auto& sensor : config.sensors)
    if (sensor.decoder == name) return sensor.settings;
  for (const auto* uses : {&config.notifiers, &config.exporters})
    for (const auto& use : *uses)
      if (use.plugin == name) return use.settings;
  ADD_FAILURE() << "the sample does not use " << name;
  return {};
}

// "# key = value" becomes "key = value".
std::string uncommented(const std::string& sample) {
  return std::regex_replace(sample, std::regex("(^|\n)# ?([a-z_]+ = )"), "$1$2");
}

class Conformance : public testing::TestWithParam<std::string> {};

TEST_P(Conformance, DescriptorFolderAndSample) {
  PluginHost host(COILWARD_BINARY_DIR "/plugins");
  const auto opened = host.open(GetParam());
  ASSERT_TRUE(opened) << opened.error().what;
  const LoadedPlugin& plugin = **opened;
  EXPECT_NE(std::string(plugin.plugin->version), "");
  const fs::path folder = folder_of(GetParam());
  ASSERT_FALSE(folder.empty()) << "no folder plugins/*/" << GetParam();
  EXPECT_TRUE(folder.parent_path().filename().string().starts_with(plugin.plugin->kind)) << folder;

  const std::string readme = contents(folder / "README.md");
  for (const char* part : {"Failures", "Security"}) EXPECT_NE(readme.find(part), std::string::npos) << part;
  for (const auto& spec : plugin.schema.keys) {
    EXPECT_NE(readme.find("`" + spec.key + "`"), std::string::npos) << spec.key << " is not in the README";
    EXPECT_NE(spec.help, "") << spec.key;
  }

  const std::string sample = contents(folder / "sample.toml");
  for (const auto& text : {sample, uncommented(sample)}) {
    const auto complete = plugin.schema.complete(settings_in(text, GetParam()));
    EXPECT_TRUE(complete) << complete.error().what;
  }
  const auto all = settings_in(uncommented(sample), GetParam());
  for (const auto& spec : plugin.schema.keys)
    EXPECT_TRUE(all.contains(spec.key)) << spec.key << " is not in the sample";
}

INSTANTIATE_TEST_SUITE_P(EveryPlugin, Conformance,
                         testing::ValuesIn(PluginHost(COILWARD_BINARY_DIR "/plugins").installed()),
                         [](const auto& info) { return info.param; });

TEST(ConformanceOf, AllKinds) {
  const auto installed = PluginHost(COILWARD_BINARY_DIR "/plugins").installed();
  for (const char* name : {"number", "senml", "json", "email", "webhook", "webpush", "mqtt", "command", "csv"})
    EXPECT_NE(std::find(installed.begin(), installed.end(), name), installed.end()) << name;
}

}  // namespace
}  // namespace coilward
