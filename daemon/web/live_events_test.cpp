#include "daemon/web/live_events.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(LiveEvents, the_first_time_gives_everything_and_then_only_what_is_new) {
  WebTestSite site;
  LiveEvents events(site);
  const std::string first = events.next();
  for (const char* part : {"\"zone\":1", "\"zone\":4", "event: version\n", "retry: "})
    EXPECT_THAT(first, HasSubstr(part));
  EXPECT_EQ(events.next(), "");
  site.edit_zones()[1].on = true;
  site.edit_zones()[1].latest_amps = 0.231;
  EXPECT_EQ(events.next(),
            "event: zone\ndata: {\"zone\":4,\"amps\":\"0.231 A\",\"when\":\"on now\",\"place\":0.5}\n\n");
  EXPECT_EQ(events.next(), "");
}

TEST(LiveEvents, the_version_moves_with_what_a_page_shows) {
  WebTestSite site;
  LiveEvents events(site);
  events.next();
  const auto moves = [&] { return events.next().find("event: version") != std::string::npos; };
  site.findings_ = {web_test_finding()};
  EXPECT_TRUE(moves());
  site.findings_[0].probability = 0.9;
  EXPECT_TRUE(moves());
  (void)site.acknowledge(site.findings_[0].id, "Ann", kNever);
  EXPECT_TRUE(moves());
  site.stages[0].ok = false;
  EXPECT_TRUE(moves());
  site.running_pauses = {{PauseScope::site(), test_now(), test_now() + std::chrono::hours{2}, "Ann"}};
  EXPECT_TRUE(moves());
  site.edit_zones()[0].last_run = coilward::Run{1, test_now()};
  EXPECT_TRUE(moves());
  EXPECT_FALSE(moves());
}

TEST(LiveEvents, a_page_carries_the_version_that_the_events_tell) {
  WebTestSite site;
  LiveEvents events(site);
  EXPECT_THAT(events.next(), HasSubstr("event: version\ndata: " + page_version(site) + "\n"));
}

}  // namespace
}  // namespace coilward
