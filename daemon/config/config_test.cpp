#include "daemon/config/config.h"

#include <gtest/gtest.h>

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
  EXPECT_TRUE(config.mqtt.client_id.starts_with("coilward-juniper-row-12-"));
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

struct Broken { const char* text; int line; const char* says; };

class BrokenConfig : public testing::TestWithParam<Broken> {};

TEST_P(BrokenConfig, IsRefusedWithPlaceAndReason) {
  const auto [text, line, says] = GetParam();
  const auto config = parse_config(text, "site.toml");
  ASSERT_TRUE(config.has_error()) << text;
  EXPECT_EQ(config.error().cause, Cause::bad_config);
  EXPECT_NE(config.error().what.find("site.toml:" + std::to_string(line) + ": "), std::string::npos) << config.error().what;
  EXPECT_NE(config.error().what.find(says), std::string::npos) << config.error().what;
}

#define SITE "[site]\nid = \"a\"\n"
#define ZONE SITE "[[zone]]\nnumber = 1\n"

INSTANTIATE_TEST_SUITE_P(
    All, BrokenConfig,
    testing::Values(
        Broken{"", 1, "site: missing"}, Broken{SITE, 1, "zone: missing"}, Broken{"[site]\nname = \"x\"\n[[zone]]\nnumber = 1\n", 1, "site.id: missing"},
        Broken{"[site]\nid = \"A b\"\n[[zone]]\nnumber = 1\n", 2, "a-z, 0-9"}, Broken{"[site]\nid = 4\n[[zone]]\nnumber = 1\n", 2, "found 4; allowed is text"},
        Broken{SITE "timezone = \"Mars/Olympus\"\n[[zone]]\nnumber = 1\n", 3, "IANA"}, Broken{SITE "timezone = \"../../etc/passwd\"\n[[zone]]\nnumber = 1\n", 3, "IANA"},
        Broken{"[sote]\nid = \"a\"\n[[zone]]\nnumber = 1\n", 1, "did you mean 'site'"}, Broken{"[site\n", 1, "not TOML"},
        Broken{ZONE "bx = \"A\"\n", 5, "did you mean 'box'"}, Broken{ZONE "box = \"A\"\n", 5, "none is configured"},
        Broken{ZONE "awg = \"18\"\n", 5, "a whole number from 4 to 26 (AWG)"}, Broken{ZONE "awg = 99\n", 5, "found 99"},
        Broken{ZONE "awg = 18.5\n", 5, "a whole number"}, Broken{ZONE "square_mm = 1\nawg = 18\n", 5, "beside awg"},
        Broken{ZONE "square_mm = 1000\n", 5, "from 0.1 to 25"}, Broken{ZONE "stranded = 1\n", 5, "true or false"},
        Broken{ZONE "common = \"x\"\n", 5, "commons: main"}, Broken{ZONE "valves = 0\n", 5, "from 1 to 12"},
        Broken{ZONE "hold_amps = 230\n", 5, "(A)"}, Broken{ZONE "hold_amps = nan\n", 5, "hold_amps"}, Broken{ZONE "hold_amps = 0.4\ninrush_amps = 0.2\n", 6, "the inrush current is the larger"},
        Broken{ZONE "number = 2\n", 5, "not TOML"}, Broken{ZONE "[[zone]]\nnumber = 1\n", 6, "found 1 twice"}, Broken{SITE "[[zone]]\nname = \"x\"\n", 3, "zone.number: missing"},
        Broken{SITE "[[zone]]\nnumber = 256\n", 4, "from 1 to 255"}, Broken{SITE "[[zone]]\nnumber = 0\n", 4, "from 1 to 255"}, Broken{SITE "[zone]\nnumber = 1\n", 3, "[[zone]]"},
        Broken{SITE "zone = 1\n", 3, "site.zone: unknown key"}, Broken{ZONE "[[box]]\nid = \"A\"\n", 5, "metres"}, Broken{ZONE "[[box]]\nid = \"A\"\nmetres = 1\nfeet = 3\n", 8, "beside metres"},
        Broken{ZONE "[[box]]\nid = \"A\"\nmetres = -1\n", 7, "from 0 to 5000 (m)"}, Broken{ZONE "[[box]]\nid = \"A\"\nmetres = 1\nfrom = \"Z\"\n", 8, "which is no box"},
        Broken{ZONE "[[box]]\nid = \"controller\"\nmetres = 1\n", 6, "the controller itself"}, Broken{ZONE "[[box]]\nid = \"\"\nmetres = 1\n", 6, "found nothing"},
        Broken{ZONE "[[box]]\nid = \"A\"\nmetres = 1\n[[box]]\nid = \"A\"\nmetres = 1\n", 9, "twice"},
        Broken{ZONE "[[box]]\nid = \"A\"\nfrom = \"B\"\nmetres = 1\n[[box]]\nid = \"B\"\nfrom = \"A\"\nmetres = 1\n", 7, "leads back to itself"},
        Broken{ZONE "[[box]]\nid = \"A\"\nfrom = \"A\"\nmetres = 1\n", 7, "leads back to itself"},
        Broken{ZONE "[[common]]\nid = \"a b\"\n", 6, "without spaces"}, Broken{ZONE "[[common]]\nid = \"m\"\n[[common]]\nid = \"m\"\n", 8, "twice"}, Broken{ZONE "[[common]]\nawg = 14\n", 5, "common.id: missing"},
        Broken{ZONE "[supply]\nvolts = 2400\n", 6, "from 6 to 60 (V)"}, Broken{ZONE "[supply]\nhertz = 400\n", 6, "(Hz)"}, Broken{ZONE "[supply]\nvolt = 24\n", 6, "did you mean 'volts'"},
        Broken{ZONE "[[supply]]\nvolts = 24\n", 5, "a table [supply]"}, Broken{ZONE "[mqtt]\nurl = \"http://x\"\n", 6, "mqtt://host"}, Broken{ZONE "[mqtt]\nurl = \"mqtt://u:p@x\"\n", 6, "without a password"},
        Broken{ZONE "[mqtt]\nurl = \"mqtt://x:99999\"\n", 6, "mqtt://host"}, Broken{ZONE "[mqtt]\nversion = \"4\"\n", 6, "\"3.1.1\" and \"5\""}, Broken{ZONE "[mqtt]\npassword = \"x\"\n", 6, "did you mean 'password_file'"},
        Broken{ZONE "[mqtt]\npassword_file = \"/x\"\n", 6, "give both"}, Broken{ZONE "[mqtt]\ncert_file = \"/x\"\n", 5, "go together"}, Broken{ZONE "[mqtt]\nprefix = \"a/#\"\n", 6, "without wildcards"},
        Broken{ZONE "[mqtt]\nkeep_alive_s = 0\n", 6, "from 5 to 3600 (s)"}, Broken{ZONE "[[sensor]]\ntopic = \"a\"\n", 5, "channel"}, Broken{ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/1/current\"\n", 5, "sensor.unit: missing"},
        Broken{ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/x\"\nunit = \"A\"\n", 7, "zone/4/current"}, Broken{ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/1/current\"\nunit = \"kA\"\n", 8, "allowed are A, mA"},
        Broken{ZONE "[[sensor]]\nchannel = \"zone/1/current\"\nunit = \"A\"\n", 5, "sensor.topic: missing"}, Broken{ZONE "[[notifier]]\nname = \"x\"\n", 5, "notifier.plugin: missing"},
        Broken{ZONE "[[notifier]]\nname = \"x\"\nplugin = \"command\"\nat_least = \"loud\"\n", 8, "watch, soon, urgent"},
        Broken{ZONE "[[notifier]]\nname = \"x\"\nplugin = \"command\"\n[[notifier]]\nname = \"x\"\nplugin = \"command\"\n", 9, "twice"},
        Broken{ZONE "[[notifier]]\nname = \"x\"\nplugin = \"command\"\nsettings = 3\n", 8, "a table"}, Broken{ZONE "[[exporter]]\nplugin = \"csv\"\n", 5, "exporter.name: missing"},
        Broken{ZONE "[decoder]\njson = 3\n", 6, "[decoder.json]"}, Broken{ZONE "[alerts]\nrepeat_h = [0]\n", 6, "from 0.01"}, Broken{ZONE "[alerts]\nrepeat_h = []\n", 6, "a list of hours"},
        Broken{ZONE "[alerts]\nrepeat_h = [\"1\"]\n", 6, "a list of numbers"}, Broken{ZONE "[history]\ncommit_s = 0\n", 6, "from 1 to 3600 (s)"}, Broken{ZONE "[http]\nport = 70000\n", 6, "from 0 to 65535"},
        Broken{ZONE "[master]\nnumber = 3\n", 6, "unknown key"}, Broken{ZONE "[paths]\nstate = 4\n", 6, "text in quotes"}));

TEST(Config, TellsEverythingThatIsWrongInTheOrderOfLines) {
  const auto config = parse_config("[site]\nid = \"A\"\n[[zone]]\nnumber = 300\nawg = \"x\"\n", "f");
  ASSERT_TRUE(config.has_error());
  const std::string what = config.error().what;
  EXPECT_LT(what.find("f:2:"), what.find("f:4:"));
  EXPECT_LT(what.find("f:4:"), what.find("f:5:"));
}

// A slip in any one key of the example is noticed.
TEST(Config, MisspellingAnyKeyIsRefused) {
  const std::string text = sample();
  std::istringstream lines(text);
  std::size_t at = 0;
  int tried = 0;
  for (std::string line; std::getline(lines, line); at += line.size() + 1) {
    const auto equals = line.find(" = ");
    if (equals == std::string::npos || line[0] == '#' || line[0] == '[') continue;
    std::string broken = text;
    broken.insert(at + equals, "x");
    EXPECT_TRUE(parse_config(broken, "f").has_error()) << line;
    ++tried;
  }
  EXPECT_GE(tried, 20);
}

TEST(Config, ChannelsComeBack) {
  const Config config = good(sample());
  for (const char* text : {"zone/4/current", "zone/255/voltage", "zone/1/command", "master/current", "master/command", "common/main/current", "supply/voltage", "air/temperature", "soil/temperature"}) {
    const auto channel = parse_channel(text, config);
    ASSERT_TRUE(channel) << text;
    EXPECT_EQ(channel_text(*channel, config), text);
  }
  for (const char* text : {"", "zone/0/current", "zone/256/current", "zone/04/current", "zone/4", "zone/4/amps", "zone//current", "common/other/current", "common//current", "zone/-1/current", "zone/4/current/x"})
    EXPECT_FALSE(parse_channel(text, config)) << text;
}

TEST(Config, MissingFileIsAConfigurationError) {
  const auto config = load_config("/nonexistent/site.toml");
  ASSERT_TRUE(config.has_error());
  EXPECT_EQ(config.error().cause, Cause::bad_config);
}

}  // namespace
}  // namespace coilward
