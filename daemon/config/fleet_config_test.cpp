#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/config/fleet_server.h"

namespace coilward {
namespace {

using ::testing::HasSubstr;

const std::string kSite = "[site]\nid = \"larch-court-3\"\n[[zone]]\nnumber = 1\n";

TEST(FleetConfig, ASiteWithoutItGoesNowhere) {
  EXPECT_FALSE(parse_config(kSite, "x")->fleet.on());
  EXPECT_FALSE(parse_config("role = \"site\"\n" + kSite, "x")->fleet.on());
}

TEST(FleetConfig, AMeteredLinkSpeaksLessOften) {
  const auto plain = parse_config(kSite + "[fleet]\nurl = \"mqtts://fleet.example.org\"\n", "x");
  ASSERT_TRUE(plain) << plain.error().what;
  EXPECT_EQ(plain->fleet.every_minutes, 60);
  EXPECT_EQ(plain->fleet.mqtt.keep_alive_s, 300);
  const auto metered =
      parse_config(kSite + "[fleet]\nurl = \"mqtts://fleet.example.org\"\nmonthly_megabytes = 1\n", "x");
  ASSERT_TRUE(metered) << metered.error().what;
  EXPECT_EQ(metered->fleet.every_minutes, 240);
  EXPECT_EQ(metered->fleet.mqtt.keep_alive_s, 1800);
}

TEST(FleetConfig, WhatIsWrongIsSaid) {
  const auto error = [](const std::string& text) {
    const auto config = parse_config(text, "x");
    return config ? std::string() : config.error().what;
  };
  EXPECT_THAT(error(kSite + "[fleet]\n"), HasSubstr("fleet.url: missing"));
  EXPECT_THAT(error(kSite + "[fleet]\nurl = \"fleet.example.org\"\n"), HasSubstr("fleet.url: found"));
  EXPECT_THAT(error("[site]\nid = \"a-name-of-more-than-thirty-two-characters\"\n[[zone]]\nnumber = 1\n"
                    "[fleet]\nurl = \"mqtt://f\"\n"),
              HasSubstr("32 where a site is one of many"));
  EXPECT_THAT(error("role = \"gardener\"\n" + kSite), HasSubstr("role: found \"gardener\""));
  EXPECT_THAT(error(kSite + "[database]\nurl = \"postgresql:///fleet\"\n"), HasSubstr("database: unknown"));
}

TEST(FleetServerConfig, IsAFileOfItsOwn) {
  const auto config = parse_fleet_server_config(
      "role = \"fleet\"\n[mqtt]\nurl = \"mqtts://127.0.0.1\"\n[database]\nurl = \"postgresql:///fleet\"\n"
      "[ranking]\nsilent_h = 30\n[http]\nport = 8480\n",
      "x");
  ASSERT_TRUE(config) << config.error().what;
  EXPECT_EQ(config->mqtt.version, 5);
  EXPECT_EQ(config->database, "postgresql:///fleet");
  EXPECT_EQ(config->silent_h, 30);
  EXPECT_EQ(config->http.port, 8480);
  const auto wrong = parse_fleet_server_config("role = \"fleet\"\n[site]\nid = \"a\"\n", "x");
  ASSERT_FALSE(wrong);
  EXPECT_THAT(wrong.error().what, HasSubstr("site: unknown table"));
  EXPECT_THAT(wrong.error().what, HasSubstr("database: missing"));
  const auto opened = parse_fleet_server_config("role = \"fleet\"\n[http]\naddress = \"0.0.0.0\"\n", "x");
  ASSERT_FALSE(opened);
  EXPECT_THAT(opened.error().what, HasSubstr("x:3: http.address: is for a site"));
}

}  // namespace
}  // namespace coilward
