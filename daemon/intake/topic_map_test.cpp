#include "daemon/intake/topic_map.h"

#include "daemon/intake/intake_fixture.h"

namespace coilward {
namespace {

std::string sensor(const std::string& topic,
                   const std::string& rest = "channel = \"zone/4/current\"\nunit = \"mA\"\n") {
  return "[[sensor]]\ntopic = \"" + topic + "\"\n" + rest;
}

Config site(const std::string& more) { return parse_config(kIntakeSite + more, "site.toml").value(); }

TEST(TopicMap, ResolvesTheSitesOwnTopics) {
  const Config config = site("");
  TopicMap map = TopicMap::make(config).value();
  const std::string base = "coilward/juniper-row-12/measure/";
  for (int twice = 0; twice < 2; ++twice) {
    const TopicSource* found = map.find(base + "zone/4/current");
    ASSERT_NE(found, nullptr);
    EXPECT_EQ(found->sensor, -1);
    EXPECT_EQ(found->channel, (Channel{ChannelKind::zone_current, 4}));
    ASSERT_NE(map.find(base + "anything"), nullptr);
    EXPECT_FALSE(map.find(base + "anything")->channel);
    EXPECT_EQ(map.find("coilward/juniper-row-13/measure/zone/4/current"), nullptr);
    EXPECT_EQ(map.find("coilward/juniper-row-12/report/zone/4"), nullptr);
    EXPECT_EQ(map.find(""), nullptr);
  }
  EXPECT_EQ(map.subscriptions(), std::vector<std::string>{base + "#"});
}

TEST(TopicMap, SensorsComeFirstAndKeepTheirSubscriptions) {
  const Config config =
      site(sensor("meters/+/amps") + sensor("coilward/juniper-row-12/measure/zone/1/current"));
  TopicMap map = TopicMap::make(config).value();
  EXPECT_EQ(map.find("meters/x/amps")->sensor, 0);
  EXPECT_EQ(map.find("coilward/juniper-row-12/measure/zone/1/current")->sensor, 1);
  EXPECT_EQ(map.find("coilward/juniper-row-12/measure/zone/1/current")->channel->index, 4);
  EXPECT_EQ(map.find("meters/x"), nullptr);
  EXPECT_EQ(map.subscriptions(),
            (std::vector<std::string>{"coilward/juniper-row-12/measure/#", "meters/+/amps"}));
}

TEST(TopicMap, AFilterAroundEverythingDoesNotReadOurReports) {
  const Config config = site(sensor("#"));
  TopicMap map = TopicMap::make(config).value();
  EXPECT_NE(map.find("anything"), nullptr);
  EXPECT_EQ(map.find("coilward/juniper-row-12/report/run"), nullptr);
  EXPECT_EQ(map.find("$SYS/broker/load"), nullptr);
  EXPECT_EQ(map.subscriptions(), std::vector<std::string>{"#"});
}

TEST(TopicMap, FiltersThatMeetAreErrorsWithBothLines) {
  EXPECT_NE(IntakeSite::refusal(sensor("a/+") + sensor("a/b")).find("a/+"), std::string::npos);
  EXPECT_NE(IntakeSite::refusal(sensor("sport+")).find("topic filter"), std::string::npos);
  EXPECT_NE(IntakeSite::refusal(sensor("+/juniper-row-12/measure/zone/1/current")).find("meets a part"),
            std::string::npos);
  EXPECT_EQ(IntakeSite::refusal(sensor("a/b") + sensor("a/c")), "");
}

TEST(TopicMap, ManyInventedTopicsTakeNoMoreMemory) {
  const Config config = site("");
  TopicMap map = TopicMap::make(config).value();
  for (int i = 0; i < 20000; ++i) map.find("coilward/juniper-row-12/measure/" + std::to_string(i));
  EXPECT_NE(map.find("coilward/juniper-row-12/measure/zone/4/current"), nullptr);
}

}  // namespace
}  // namespace coilward
