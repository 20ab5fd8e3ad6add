// A heartbeat vouches for the whole path: each stage is broken in turn, and it stays away within its period.
#include "daemon/heartbeat.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "tests/support/counting_server.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using std::chrono::seconds;

PathSigns all_well() {
  PathSigns signs;
  signs.broker = signs.store = signs.clock = true;
  signs.reading_age_s = 3;
  signs.caught_up_age_s = 1;
  return signs;
}

struct Break {
  const char* stage;
  const char* says;
  void (*make)(PathSigns&);
};
constexpr Break kBreaks[] = {
    {"broker", "broker", [](PathSigns& s) { s.broker = false; }},
    {"no_reading", "no reading", [](PathSigns& s) { s.reading_age_s = kNotMeasured; }},
    {"old_reading", "last reading", [](PathSigns& s) { s.reading_age_s = 901; }},
    {"clock", "clock", [](PathSigns& s) { s.clock = false; }},
    {"diagnosis", "diagnosis", [](PathSigns& s) { s.caught_up_age_s = 31; }},
    {"diagnosis_never", "diagnosis", [](PathSigns& s) { s.caught_up_age_s = kNotMeasured; }},
    {"store", "recorded", [](PathSigns& s) { s.store = false; }},
    {"store_hangs", "store", [](PathSigns& s) { s.commit_age_s = 91; }},
    {"notifier", "messages by mail", [](PathSigns& s) { s.failing_notifier = "mail"; }},
    {"outbox", "outbox", [](PathSigns& s) { s.outbox_age_s = 901; }},
};

class EachStage : public testing::TestWithParam<Break> {};
INSTANTIATE_TEST_SUITE_P(Heartbeat, EachStage, testing::ValuesIn(kBreaks),
                         [](const auto& each) { return std::string(each.param.stage); });

TEST_P(EachStage, BrokenStopsTheHeartbeatWithinItsPeriodAndSoundItGoesOn) {
  Config config;
  config.site.id = "juniper-row-12";
  config.heartbeat.topic = "watch/juniper";
  FakeClock clock{*parse_rfc3339("2026-05-04T06:12:09Z")};
  std::vector<std::string> beats;
  Heartbeat heart(config, clock, [&](const std::string& topic, const std::string& text) {
    EXPECT_EQ(topic, "watch/juniper");
    beats.push_back(text);
  });
  PathSigns signs = all_well();
  const auto pass = [&](int time_s) {
    for (int i = 0; i < time_s; ++i, clock.advance(seconds{1})) heart.tick([&] { return signs; });
  };
  pass(3000);
  ASSERT_EQ(beats.size(), 10u) << heart.last_words();
  EXPECT_EQ(nlohmann::json::parse(beats[1])["time"], "2026-05-04T06:17:09.000Z");
  GetParam().make(signs);
  pass(3000);
  EXPECT_EQ(beats.size(), 10u);
  EXPECT_NE(heart.last_words().find(GetParam().says), std::string::npos) << heart.last_words();
  signs = all_well();
  pass(300);
  EXPECT_EQ(beats.size(), 11u);
}

TEST(Heartbeat, AsksItsAddress) {
  CountingServer server("/ping/7");
  Config config;
  config.heartbeat.url = server.url();
  FakeClock clock{*parse_rfc3339("2026-05-04T06:12:09Z")};
  Heartbeat heart(config, clock, [](const std::string&, const std::string&) { ADD_FAILURE(); });
  for (int beat = 1; beat <= 3; ++beat) {
    heart.tick([] { return all_well(); });
    EXPECT_TRUE(becomes_true([&] { return server.asked() == beat; }));
    clock.advance(seconds{300});
  }
  heart.tick([] { return PathSigns{}; });
  EXPECT_EQ(heart.beats(), 3u);
  EXPECT_TRUE(heart.stop(seconds{2}));
  EXPECT_EQ(server.asked(), 3);
}

TEST(Heartbeat, WithoutAddressAndTopicThereIsNone) {
  Config config;
  FakeClock clock{*parse_rfc3339("2026-05-04T06:12:09Z")};
  Heartbeat heart(config, clock, nullptr);
  heart.tick([]() -> PathSigns {
    ADD_FAILURE();
    return {};
  });
  EXPECT_EQ(heart.beats(), 0u);
}

}  // namespace
}  // namespace coilward
