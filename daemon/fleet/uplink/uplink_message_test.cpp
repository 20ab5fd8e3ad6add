#include "daemon/fleet/uplink/uplink_message.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

const UplinkHead kHead{7, 3, UplinkKind::runs, *parse_rfc3339("2026-05-04T06:12:09.250Z")};

TEST(UplinkMessage, ComesBackAsItWent) {
  const std::string body = R"({"zone":[1,2],"start":[1,2]})";
  const std::string payload = uplink_payload(kHead, squeeze_uplink_body(body));
  const auto read = read_uplink(payload);
  ASSERT_TRUE(read) << read.error().what;
  EXPECT_EQ(read->head.epoch, 7);
  EXPECT_EQ(read->head.seq, 3);
  EXPECT_EQ(read->head.kind, UplinkKind::runs);
  EXPECT_EQ(read->head.made, kHead.made);
  EXPECT_EQ(unsqueeze_uplink_body(read->squeezed).value(), body);
}

TEST(UplinkMessage, CutAtEveryLengthIsRefused) {
  const std::string payload = uplink_payload(kHead, squeeze_uplink_body(std::string(500, 'x')));
  for (std::size_t length = 0; length < payload.size(); ++length) {
    const std::string cut = payload.substr(0, length);
    const auto read = read_uplink(cut);
    if (read) EXPECT_FALSE(unsqueeze_uplink_body(read->squeezed)) << length;
  }
}

TEST(UplinkMessage, HeadsThatAreNoneAreRefused) {
  for (const char* head :
       {"", "x", "[]", "{}", R"({"epoch":0,"seq":1,"kind":"runs","t":"2026-05-04T06:12:09Z"})",
        R"({"epoch":1,"seq":-1,"kind":"runs","t":"2026-05-04T06:12:09Z"})",
        R"({"epoch":1,"seq":1.5,"kind":"runs","t":"2026-05-04T06:12:09Z"})",
        R"({"epoch":1,"seq":1,"kind":"other","t":"2026-05-04T06:12:09Z"})",
        R"({"epoch":1,"seq":1,"kind":"runs","t":"yesterday"})",
        R"({"epoch":9007199254740992,"seq":1,"kind":"runs","t":"2026-05-04T06:12:09Z"})"})
    EXPECT_FALSE(read_uplink(std::string(head) + "\nbody")) << head;
}

TEST(UplinkMessage, HaveIsReadOrLeftAlone) {
  const auto have = read_have(have_payload({5, 9}));
  ASSERT_TRUE(have);
  EXPECT_EQ(have->epoch, 5);
  EXPECT_EQ(have->have, 9);
  for (const char* other :
       {"", "9", "{}", R"({"epoch":5})", R"({"epoch":"5","have":9})", R"({"epoch":5,"have":0})"})
    EXPECT_FALSE(read_have(other)) << other;
}

TEST(UplinkMessage, TheSiteIsWhatTheTopicSays) {
  EXPECT_EQ(site_of_topic(up_topic("juniper-row-12"), "up"), "juniper-row-12");
  EXPECT_EQ(site_of_topic(state_topic("a"), "state"), "a");
  EXPECT_EQ(site_of_topic(have_topic("a"), "down/have"), "a");
  for (const char* topic :
       {"coilward/v1//up", "coilward/v1/A/up", "coilward/v1/a.b/up", "coilward/v1/a/up/x", "coilward/v2/a/up",
        "coilward/v1/a", "coilward/v1/123456789012345678901234567890123/up"})
    EXPECT_FALSE(site_of_topic(topic, "up")) << topic;
}

}  // namespace
}  // namespace coilward
