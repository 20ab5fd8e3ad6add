// Files that are wrong in one way each: the place and the reason are said.
#include <gtest/gtest.h>

#include "daemon/config/config.h"

namespace coilward {
namespace {

struct Broken {
  const char* text;
  int line;
  const char* says;
};

class BrokenConfigTest : public testing::TestWithParam<Broken> {};

TEST_P(BrokenConfigTest, IsRefusedWithPlaceAndReason) {
  const auto [text, line, says] = GetParam();
  const auto config = parse_config(text, "site.toml");
  ASSERT_TRUE(config.has_error()) << text;
  EXPECT_EQ(config.error().cause, Cause::bad_config);
  EXPECT_NE(config.error().what.find("site.toml:" + std::to_string(line) + ": "), std::string::npos)
      << config.error().what;
  EXPECT_NE(config.error().what.find(says), std::string::npos) << config.error().what;
}

#define SITE "[site]\nid = \"a\"\n"
#define ZONE SITE "[[zone]]\nnumber = 1\n"

#define PERSON ZONE "[[notifier]]\nname = \"phone\"\nplugin = \"command\"\n[[person]]\nname = \"Ana\"\n"

// clang-format off: one case a line
constexpr Broken kBroken[] = {
    {"", 1, "site: missing"},
    {SITE, 1, "zone: missing"},
    {"[site]\nname = \"x\"\n[[zone]]\nnumber = 1\n", 1, "site.id: missing"},
    {"[site]\nid = \"A b\"\n[[zone]]\nnumber = 1\n", 2, "a-z, 0-9"},
    {"[site]\nid = 4\n[[zone]]\nnumber = 1\n", 2, "found 4; allowed is text"},
    {SITE "timezone = \"Mars/Olympus\"\n[[zone]]\nnumber = 1\n", 3, "IANA"},
    {SITE "lengths = \"yards\"\n[[zone]]\nnumber = 1\n", 3, "metres and feet"},
    {SITE "timezone = \"../../etc/passwd\"\n[[zone]]\nnumber = 1\n", 3, "IANA"},
    {"[sote]\nid = \"a\"\n[[zone]]\nnumber = 1\n", 1, "did you mean 'site'"},
    {"[site\n", 1, "not TOML"},
    {ZONE "bx = \"A\"\n", 5, "did you mean 'box'"},
    {ZONE "mm2 = 1.5\n", 5, "did you mean 'square_mm'"},
    {ZONE "box = \"A\"\n", 5, "none is configured"},
    {ZONE "awg = \"18\"\n", 5, "a whole number from 4 to 26 (AWG)"},
    {ZONE "awg = 99\n", 5, "found 99"},
    {ZONE "awg = 18.5\n", 5, "a whole number"},
    {ZONE "square_mm = 1\nawg = 18\n", 5, "beside awg"},
    {ZONE "square_mm = 1000\n", 5, "from 0.1 to 25"},
    {ZONE "stranded = 1\n", 5, "true or false"},
    {ZONE "common = \"x\"\n", 5, "commons: main"},
    {ZONE "valves = 0\n", 5, "from 1 to 12"},
    {ZONE "hold_amps = 230\n", 5, "(A)"},
    {ZONE "hold_amps = nan\n", 5, "hold_amps"},
    {ZONE "hold_amps = 0.4\ninrush_amps = 0.2\n", 6, "the inrush current is the larger"},
    {ZONE "number = 2\n", 5, "not TOML"},
    {ZONE "[[zone]]\nnumber = 1\n", 6, "found 1 twice"},
    {SITE "[[zone]]\nname = \"x\"\n", 3, "zone.number: missing"},
    {SITE "[[zone]]\nnumber = 256\n", 4, "from 1 to 255"},
    {SITE "[[zone]]\nnumber = 0\n", 4, "from 1 to 255"},
    {SITE "[zone]\nnumber = 1\n", 3, "[[zone]]"},
    {SITE "zone = 1\n", 3, "site.zone: unknown key"},
    {ZONE "[[box]]\nid = \"A\"\n", 5, "metres"},
    {ZONE "[[box]]\nid = \"A\"\nmetres = 1\nfeet = 3\n", 8, "beside metres"},
    {ZONE "[[box]]\nid = \"A\"\nmetres = -1\n", 7, "from 0 to 5000 (m)"},
    {ZONE "[[box]]\nid = \"A\"\nmetres = 1\nfrom = \"Z\"\n", 8, "which is no box"},
    {ZONE "[[box]]\nid = \"controller\"\nmetres = 1\n", 6, "the controller itself"},
    {ZONE "[[box]]\nid = \"\"\nmetres = 1\n", 6, "found nothing"},
    {ZONE "[[box]]\nid = \"A\"\nmetres = 1\n[[box]]\nid = \"A\"\nmetres = 1\n", 9, "twice"},
    {ZONE "[[box]]\nid = \"A\"\nfrom = \"B\"\nmetres = 1\n[[box]]\nid = \"B\"\nfrom = \"A\"\nmetres = 1\n", 7,
     "leads back to itself"},
    {ZONE "[[box]]\nid = \"A\"\nfrom = \"A\"\nmetres = 1\n", 7, "leads back to itself"},
    {ZONE "[[common]]\nid = \"a b\"\n", 6, "without spaces"},
    {ZONE "[[common]]\nid = \"m\"\n[[common]]\nid = \"m\"\n", 8, "twice"},
    {ZONE "[[common]]\nawg = 14\n", 5, "common.id: missing"},
    {ZONE "[http]\naddress = \"garden\"\n", 6, "an IP address"},
    {ZONE "[http]\naddress = \"0.0.0.0\"\n", 6, "in the clear"},
    {ZONE "[http]\naddress = \"0.0.0.0\"\ncertificate = \"a.pem\"\n", 7, "go together"},
    {ZONE "[http]\nkey = \"a.key\"\n", 6, "go together"},
    {PERSON "by = [\"fone\"]\n", 10, "did you mean 'phone'?"},
    {PERSON "by = \"phone\"\n", 10, "a list of texts in quotes"},
    {PERSON "by = []\n", 10, "names of [[notifier]]"},
    {PERSON "", 8, "person.by: missing"},
    {PERSON "by = [\"phone\", \"phone\"]\n", 10, "leads to one person"},
    {PERSON "by = [\"phone\"]\naudience = \"homeowners\"\n", 11, "did you mean 'homeowner'?"},
    {PERSON "by = [\"phone\"]\nlanguage = \"fr\"\n", 11, "found \"fr\""},
    {PERSON "by = [\"phone\"]\nquiet = \"22-7\"\n", 11, "such as 22:00-07:00 or 20:00-24:00"},
    {PERSON "by = [\"phone\"]\nquiet = \"22:00-24:01\"\n", 11, "HH:MM-HH:MM"},
    {PERSON "by = [\"phone\"]\nfaults = [\"open_circut\"]\n", 11, "did you mean 'open_circuit'?"},
    {PERSON "by = [\"phone\"]\nzones = [1, 9]\n", 11, "found 9; the site has no such zone"},
    {PERSON "by = [\"phone\"]\nat_least = \"urgnt\"\n", 11, "did you mean 'urgent'?"},
    {PERSON "by = [\"phone\"]\nquite = \"22:00-07:00\"\n", 11, "did you mean 'quiet'?"},
    {PERSON "by = [\"phone\"]\n[[person]]\nname = \"Ana\"\nby = [\"phone\"]\n", 12, "found \"Ana\" twice"},
    {ZONE "[heartbeat]\nevery_s = 60\n", 5, "neither url nor topic"},
    {ZONE "[heartbeat]\nurl = \"ping.example\"\n", 6, "begins with https:// or http://"},
    {ZONE "[heartbeat]\ntopic = \"a/#\"\n", 6, "without wildcards"},
    {ZONE "[supply]\nvolts = 2400\n", 6, "from 6 to 60 (V)"},
    {ZONE "[supply]\nhertz = 400\n", 6, "(Hz)"},
    {ZONE "[supply]\nvolt = 24\n", 6, "did you mean 'volts'"},
    {ZONE "[[supply]]\nvolts = 24\n", 5, "a table [supply]"},
    {ZONE "[mqtt]\nurl = \"http://x\"\n", 6, "mqtt://host"},
    {ZONE "[mqtt]\nurl = \"mqtt://u:p@x\"\n", 6, "without a password"},
    {ZONE "[mqtt]\nurl = \"mqtt://x:99999\"\n", 6, "mqtt://host"},
    {ZONE "[mqtt]\nversion = \"4\"\n", 6, "\"3.1.1\" and \"5\""},
    {ZONE "[mqtt]\npassword = \"x\"\n", 6, "did you mean 'password_file'"},
    {ZONE "[mqtt]\npassword_file = \"/x\"\n", 6, "give both"},
    {ZONE "[mqtt]\ncert_file = \"/x\"\n", 5, "go together"},
    {ZONE "[mqtt]\nprefix = \"a/#\"\n", 6, "without wildcards"},
    {ZONE "[mqtt]\nkeep_alive_s = 0\n", 6, "from 5 to 3600 (s)"},
    {ZONE "[[sensor]]\ntopic = \"a\"\n", 5, "channel"},
    {ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/1/current\"\n", 5, "sensor.unit: missing"},
    {ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/x\"\nunit = \"A\"\n", 7, "zone/4/current"},
    {ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/1/current\"\nunit = \"kA\"\n", 8, "allowed are A, mA"},
    {ZONE "[[sensor]]\nchannel = \"zone/1/current\"\nunit = \"A\"\n", 5, "sensor.topic: missing"},
    {ZONE "[[notifier]]\nname = \"x\"\n", 5, "notifier.plugin: missing"},
    {ZONE "[[notifier]]\nname = \"x\"\nplugin = \"command\"\nat_least = \"loud\"\n", 8,
     "watch, soon, urgent"},
    {ZONE "[[notifier]]\nname = \"x\"\nplugin = \"command\"\n[[notifier]]\nname = \"x\"\nplugin = "
          "\"command\"\n",
     9, "twice"},
    {ZONE "[[exporter]]\nplugin = \"csv\"\n", 5, "exporter.name: missing"},
    {ZONE "[decoder]\njson = 3\n", 6, "[decoder.json]"},
    {ZONE "[alerts]\nrepeat_h = [0]\n", 6, "from 0.01"},
    {ZONE "[alerts]\nrepeat_h = []\n", 6, "a list of hours"},
    {ZONE "[alerts]\nrepeat_h = [\"1\"]\n", 6, "a list of numbers"},
    {ZONE "[history]\ncommit_s = 0\n", 6, "from 1 to 3600 (s)"},
    {ZONE "[http]\nport = 70000\n", 6, "from 0 to 65535"},
    {ZONE "[master]\nnumber = 3\n", 6, "unknown key"},
    {ZONE "[paths]\nstate = 4\n", 6, "text in quotes"},
    {SITE "timezone = \"America/Bosie\"\n[[zone]]\nnumber = 1\n", 3, "did you mean \'America/Boise\'"},
    {SITE "timezone = \"leap-seconds.list\"\n[[zone]]\nnumber = 1\n", 3, "IANA"},
    {SITE "timezone = \"America\"\n[[zone]]\nnumber = 1\n", 3, "IANA"},
    {ZONE "[supply]\nhertz = 55\n", 6, "allowed are 50 and 60"},
    {ZONE "[supply]\nvolts = \"24\"\n", 6, "found \"24\"; allowed is a number from 6 to 60 (V)"},
    {ZONE "[supply]\nvolts = inf\n", 6, "from 6 to 60"},
    {ZONE "[supply]\nvolts = [24]\n", 6, "found a list"},
    {ZONE "[supply]\nvolts = 1979-05-27\n", 6, "found 1979-05-27"},
    {ZONE "[mqtt]\nurl = \"mqtt://\"\n", 6, "mqtt://host"},
    {ZONE "[mqtt]\nurl = \"mqtt://x:\"\n", 6, "mqtt://host"},
    {ZONE "[mqtt]\nurl = \"127.0.0.1\"\n", 6, "mqtt://host"},
    {ZONE "[mqtt]\nversion = 5\n", 6, "text in quotes"},
    {ZONE "[mqtt]\nurl = \"mqtt://a\"\nurl = \"mqtt://b\"\n", 7, "not TOML"},
    {ZONE "[alert]\nhold_s = 1\n", 5, "did you mean \'alerts\'"},
    {ZONE "[alerts]\nmax_per_hour = 2.5\n", 6, "a whole number"},
    {ZONE "[http]\nport = \"80\"\n", 6, "found \"80\""},
    {ZONE "[http]\nmetrics = \"yes\"\n", 6, "true or false"},
    {ZONE "[forecast]\nlift_share = 80\n", 6, "0.5 to 0.95"},
    {ZONE "[forecast]\nhold_share = 0.85\n", 6, "less than lift_share, which is 0.8"},
    {ZONE "[test_run]\nallow = \"yes\"\n", 6, "true or false"},
    {ZONE "[test_run]\nallowed = true\n", 6, "did you mean 'allow'?"},
    {ZONE "[[sensor]]\ntopic = \"a\"\nchannel = \"common/west/current\"\nunit = \"A\"\n", 7,
     "zone/4/current"},
    {ZONE "number2 = 2\n", 5, "did you mean \'number\'"},
    {ZONE "temperature_of_the_moon = 2\n", 5, "known are number, name, box"},
    {ZONE "[[exporter]]\nname = \"x\"\nplugin = 3\n", 7, "text in quotes"},
};
// clang-format on

INSTANTIATE_TEST_SUITE_P(All, BrokenConfigTest, testing::ValuesIn(kBroken));

TEST(BrokenConfig, TellsEverythingThatIsWrongInTheOrderOfLines) {
  const auto config = parse_config("[site]\nid = \"A\"\n[[zone]]\nnumber = 300\nawg = \"x\"\n", "f");
  ASSERT_TRUE(config.has_error());
  const std::string what = config.error().what;
  EXPECT_LT(what.find("f:2:"), what.find("f:4:"));
  EXPECT_LT(what.find("f:4:"), what.find("f:5:"));
}

TEST(BrokenConfig, TellsAtMostTwentyAndHowManyMore) {
  std::string text = "[site]\nid = \"a\"\n[[zone]]\nnumber = 1\n";
  for (int i = 0; i < 30; ++i) text += "wrong_" + std::to_string(i) + " = 1\n";
  const auto config = parse_config(text, "f");
  ASSERT_TRUE(config.has_error());
  EXPECT_NE(config.error().what.find("f:24:"), std::string::npos);
  EXPECT_EQ(config.error().what.find("f:25:"), std::string::npos);
  EXPECT_NE(config.error().what.find("and 10 more"), std::string::npos);
}

// Whatever is in the file, the answer is an error and not an end of the program.
TEST(BrokenConfig, AFileCutAnywhereIsAnErrorOrAConfiguration) {
  const std::string text =
      "[site]\nid = \"a\"\n[[box]]\nid = \"A\"\nmetres = 1.5\n[[zone]]\nnumber = 1\nbox = \"A\"\n";
  int good = 0;
  for (std::size_t size = 0; size <= text.size(); ++size)
    good += parse_config(text.substr(0, size), "f").has_value();
  EXPECT_GE(good, 1);
  EXPECT_LT(good, 20);
}

}  // namespace
}  // namespace coilward
