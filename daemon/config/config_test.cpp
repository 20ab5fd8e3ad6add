#include "daemon/config/config.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>

namespace coilward {
namespace {

std::string sample() {
  std::ifstream file(COILWARD_SOURCE_DIR "/config/example.toml");
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

Config good(const std::string& text) {
  auto config = parse_config(text, "site.toml");
  EXPECT_TRUE(config.has_value()) << (config.has_error() ? config.error().what : "");
  return config.has_value() ? *config : Config{};
}

TEST(Config, ReadsTheExample) {
  const Config config = good(sample());
  EXPECT_EQ(config.site.id, "juniper-row-12");
  EXPECT_EQ(config.site.timezone, "America/Boise");
  EXPECT_EQ(config.supply.volt_amps, 40);
  EXPECT_FALSE(measured(config.supply.source_ohms));
  ASSERT_EQ(config.boxes.size(), 2U);
  EXPECT_EQ(config.boxes[0].parent, -1);
  EXPECT_EQ(config.boxes[1].parent, 0);
  ASSERT_EQ(config.zones.size(), 1U);
  EXPECT_EQ(config.zones[0].box, 1);
  EXPECT_EQ(config.zones[0].name, "East hedge");
  EXPECT_NEAR(config.zones[0].wire.square_mm, 0.8231, 0.0001);    // AWG 18, ASTM B258
  EXPECT_NEAR(config.commons[0].wire.square_mm, 2.0809, 0.0001);  // AWG 14
  EXPECT_EQ(config.zone(4)->hold_amps, 0.23);
  EXPECT_EQ(config.zone(5), nullptr);
}

constexpr const char* kLeast = "[site]\nid = \"a\"\n[[zone]]\nnumber = 1\n";

TEST(Config, FillsInWhatIsLeftOut) {
  const Config config = good(kLeast);
  EXPECT_EQ(config.site.name, "a");
  EXPECT_EQ(config.site.timezone, "UTC");
  ASSERT_EQ(config.commons.size(), 1U);
  EXPECT_EQ(config.commons[0].id, "main");
  EXPECT_EQ(config.commons[0].wire.awg, 14);
  EXPECT_EQ(config.zones[0].wire.awg, 18);
  EXPECT_EQ(config.zones[0].valves, 1);
  EXPECT_EQ(config.zones[0].box, -1);
  EXPECT_FALSE(config.master.present);
  EXPECT_EQ(config.history.commit_s, 300);
}

TEST(Config, FeetStandForMetres) {
  const Config config = good(std::string(kLeast) + "[[box]]\nid = \"A\"\nfeet = 100\n");
  EXPECT_DOUBLE_EQ(config.boxes[0].metres, 30.48);
}

TEST(Config, KeysThatAreNotOursGoToThePlugin) {
  const Config config = good(std::string(kLeast) +
                             "[[notifier]]\nname = \"n\"\nplugin = \"command\"\nat_least = \"soon\"\n"
                             "run = [\"/bin/x\", \"-a\"]\nlimit = 3\nhours = 1.5\nquiet = true\n"
                             "[notifier.headers]\nAccept = \"*/*\"\n[decoder.json]\nvalue = \"/v\"\n");
  ASSERT_EQ(config.notifiers.size(), 1U);
  EXPECT_EQ(config.notifiers[0].line, 5);
  EXPECT_EQ(config.notifiers[0].at_least, Severity::soon);
  EXPECT_EQ(
      config.notifiers[0].settings,
      nlohmann::ordered_json::parse(
          R"({"headers": {"Accept": "*/*"}, "hours": 1.5, "limit": 3, "quiet": true, "run": ["/bin/x", "-a"]})"));
  EXPECT_EQ(config.decoder_settings.at("json")["value"], "/v");
}

TEST(Config, FindsThePluginsOfTheProgram) {
  ::setenv("COILWARD_PLUGINS", "/some/where", 1);
  EXPECT_EQ(good(kLeast).paths.plugins, "/some/where");
  ::unsetenv("COILWARD_PLUGINS");
}

TEST(Config, DirectoriesComeFromTheServiceManager) {
  ::setenv("STATE_DIRECTORY", "/var/lib/x:/var/lib/y",
           1);  // systemd.exec(5): several are separated by colons
  ::setenv("RUNTIME_DIRECTORY", "/run/x", 1);
  EXPECT_EQ(good(kLeast).paths.state, "/var/lib/x");
  EXPECT_EQ(good(kLeast).paths.run, "/run/x");
  EXPECT_EQ(good(std::string(kLeast) + "[paths]\nstate = \"/a\"\n").paths.state, "/a");
  ::unsetenv("STATE_DIRECTORY");
  ::unsetenv("RUNTIME_DIRECTORY");
}

TEST(Config, ChannelsComeBack) {
  const Config config = good(sample());
  for (const char* text :
       {"zone/4/current", "zone/255/voltage", "zone/1/command", "master/current", "master/command",
        "common/main/current", "supply/voltage", "air/temperature", "soil/temperature"}) {
    const auto channel = parse_channel(text, config);
    ASSERT_TRUE(channel) << text;
    EXPECT_EQ(channel_text(*channel, config), text);
  }
  for (const char* text :
       {"", "zone/0/current", "zone/256/current", "zone/04/current", "zone/4", "zone/4/amps", "zone//current",
        "common/other/current", "common//current", "zone/-1/current", "zone/4/current/x"})
    EXPECT_FALSE(parse_channel(text, config)) << text;
}

TEST(Config, MissingFileIsAConfigurationError) {
  const auto config = load_config("/nonexistent/site.toml");
  ASSERT_TRUE(config.has_error());
  EXPECT_EQ(config.error().cause, Cause::bad_config);
}

}  // namespace
}  // namespace coilward
