#include "daemon/web/zone_now.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/web/api.h"
#include "daemon/web/live_events.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"
#include "daemon/web/zone_now_view.h"

namespace coilward {
namespace {

using std::chrono::seconds;
using testing::HasSubstr;
using testing::Not;

class InHand : public ::testing::Test {
 protected:
  // Zone 4, whose normal is 0.231 A, 0.214 to 0.248.
  void draws(double amps, Millis ago = Millis{300}) {
    ZoneState& zone = site.edit_zones()[1];
    zone.on = true;
    zone.latest_amps = amps;
    zone.latest_time = site.time - ago;
  }
  ZoneNow look() { return ZoneWatch(site, 4).look(); }
  std::string get(const std::string& path, int status = 200) {
    std::string body;
    Api(site).handle({"GET", path, {}, ""}, [&](const ApiResponse& answer) {
      EXPECT_EQ(answer.status, status) << path;
      body = answer.body;
    });
    return body;
  }
  WebTestSite site;
};

TEST_F(InHand, a_draw_is_told_by_how_near_it_is_to_normal) {
  for (const auto& [amps, level, figure] :
       std::vector<std::tuple<double, std::string, std::string>>{{0.0, "nothing", "0 %"},
                                                                 {0.005, "nothing", "2 %"},
                                                                 {0.110, "below", "48 %"},
                                                                 {0.199, "near", "86 %"},
                                                                 {0.210, "normal", "91 %"},
                                                                 {0.231, "normal", "100 %"},
                                                                 {0.252, "normal", "109 %"},
                                                                 {0.300, "above", "130 %"},
                                                                 {1.500, "above", "over 300 %"}}) {
    draws(amps);
    EXPECT_EQ(level_name(look().level), level) << amps;
    EXPECT_EQ(figure_text(look()), figure) << amps;
    EXPECT_FALSE(look().stale);
  }
}

TEST_F(InHand, without_a_normal_draw_the_amperes_are_the_figure) {
  site.edit_zones()[1].normal = NormalDraw{4};
  draws(0.222);
  EXPECT_EQ(look().level, DrawLevel::unlearned);
  EXPECT_EQ(figure_text(look()), "0.222 A");
}

TEST_F(InHand, what_is_old_is_stale_and_is_not_told_as_the_present) {
  EXPECT_TRUE(look().stale);
  EXPECT_EQ(look().level, DrawLevel::unheard);
  draws(0.231, seconds{6});
  EXPECT_TRUE(look().stale);
  const std::string page = get("/zone/4/live");
  EXPECT_THAT(page, HasSubstr("class=\"hand stale\""));
  EXPECT_THAT(page, HasSubstr(">stale, not live<"));
  EXPECT_THAT(page, HasSubstr("read 6 s ago"));
  draws(0.231, seconds{-3});  // a sensor whose clock is ahead
  EXPECT_FALSE(look().stale);
}

TEST_F(InHand, a_sensor_that_speaks_seldom_is_given_its_time) {
  for (int s = 50; s >= 10; s -= 10)
    site.pending.push_back({{ChannelKind::zone_current, 4}, site.time - seconds{s}, 0.2});
  draws(0.231, seconds{8});
  EXPECT_FALSE(look().stale);
  EXPECT_EQ(look().fresh_for, seconds{25});
}

TEST_F(InHand, the_strip_is_the_last_minute_of_file_and_memory) {
  std::vector<Reading> kept;
  for (int s = 100; s > 20; --s)
    kept.push_back({{ChannelKind::zone_current, 4}, site.time - seconds{s}, 0.1});
  site.keep(kept, {});
  for (int s = 20; s > 0; --s)
    site.pending.push_back({{ChannelKind::zone_current, 4}, site.time - seconds{s}, 0.2});
  site.pending.push_back({{ChannelKind::zone_current, 1}, site.time - seconds{1}, 5.0});
  draws(0.231, Millis{0});
  ZoneWatch watch(site, 4);
  watch.look();
  ASSERT_EQ(watch.strip().size(), 61u);
  EXPECT_EQ(watch.strip().front().amps, 0.1);
  EXPECT_EQ(watch.strip().back().amps, 0.231);
  site.time += seconds{30};
  draws(0.1, Millis{0});
  watch.look();
  EXPECT_EQ(watch.strip().size(), 32u);
}

TEST_F(InHand, a_gap_breaks_the_line) {
  for (const int s : {40, 39, 38, 20, 19})
    site.pending.push_back({{ChannelKind::zone_current, 4}, site.time - seconds{s}, 0.2});
  ZoneWatch watch(site, 4);
  const ZoneNow now = watch.look();
  const std::string line = strip_view(now, watch.strip(), site.time).line;
  EXPECT_EQ(std::count(line.begin(), line.end(), 'M'), 2);
  EXPECT_EQ(std::count(line.begin(), line.end(), 'L'), 3);
}

TEST_F(InHand, events_come_with_each_reading_and_each_second) {
  draws(0.1);
  ZoneNowEvents events(site, 4);
  EXPECT_THAT(events.next(),
              testing::AllOf(HasSubstr("event: now\ndata: {"), HasSubstr("\"level\":\"below\"")));
  site.time += Millis{250};
  EXPECT_EQ(events.next(), "");
  draws(0.231, Millis{0});
  EXPECT_THAT(events.next(), HasSubstr("\"level\":\"normal\""));
  site.time += Millis{999};
  EXPECT_EQ(events.next(), "");
  site.time += Millis{1};
  EXPECT_THAT(events.next(), HasSubstr("\"age_s\":1.0"));
  site.time -= std::chrono::hours{1};  // the clock was set back
  EXPECT_NE(events.next(), "");
}

TEST_F(InHand, the_page_says_all_without_a_script) {
  draws(0.222);
  const std::string page = get("/zone/4/live");
  EXPECT_EQ(PageCheck(page).fault(), "");
  for (const char* part : {"96 %", ">normal<", "0.222 A", "of 0.231 A", "The zone is on", "read just now",
                           "http-equiv=\"refresh\" content=\"3\"", "Take care.", "id=\"tone\""})
    EXPECT_THAT(page, HasSubstr(part));
  EXPECT_THAT(page, Not(HasSubstr("live.js")));
  get("/zone/9/live", 404);
  get("/zone/x/live", 400);
}

TEST_F(InHand, programs_get_the_same) {
  draws(0.222);
  const Json now = Json::parse(get("/api/v1/zones/4/now"));
  EXPECT_EQ(now["share"], 0.961);
  EXPECT_EQ(now["stale"], false);
  get("/api/v1/zones/9/now", 404);
}

}  // namespace
}  // namespace coilward
