// Runs and switch-ons laid over one another.
#include "daemon/web/runs_laid.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/switch_on_chart.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;
using testing::HasSubstr;
using testing::Not;

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

class Laid : public ::testing::Test {
 protected:
  // Each day one run of ten minutes, the last of which draws nothing.
  void water(int days) {
    std::vector<Reading> readings;
    std::vector<coilward::Run> runs;
    for (int day = days; day > 0; --day) {
      coilward::Run run{4, site.time - hours{24 * day}, site.time - hours{24 * day} + minutes{10}};
      run.ended = RunEnd::switched_off;
      run.hold_amps = day == 1 ? 0.0 : 0.23;
      run.inrush_amps = 0.4;
      for (int s = 0; s < 600; ++s)
        readings.push_back({{ChannelKind::zone_current, 4}, run.start + seconds{s}, run.hold_amps});
      runs.push_back(run);
    }
    site.keep(readings, runs);
  }
  std::string page(std::map<std::string, std::string> query = {}) {
    ApiResponse response;
    Api(site).handle({"GET", "/zone/4", std::move(query), ""},
                     [&](ApiResponse answer) { response = answer; });
    EXPECT_EQ(PageCheck(response.body).fault(), "");
    return response.body;
  }
  WebTestSite site;
};

TEST_F(Laid, the_last_stands_out_of_those_before_it) {
  water(8);
  const std::string text = page();
  EXPECT_THAT(text, HasSubstr("Runs laid over one another"));
  EXPECT_EQ(count(text, "<path class=\"earlier\""), 5u);
  EXPECT_THAT(text, HasSubstr("6 runs</a>"));
  EXPECT_EQ(count(page({{"lay", "3"}}), "<path class=\"earlier\""), 2u);
  EXPECT_EQ(count(page({{"lay", "12"}}), "<path class=\"earlier\""), 7u);
  EXPECT_THAT(page({{"lay", "12"}}), HasSubstr("lay=12#laid\" aria-current=\"true\""));
}

TEST_F(Laid, one_run_alone_is_not_laid_over_itself) {
  water(1);
  EXPECT_THAT(page(), Not(HasSubstr("Runs laid over one another")));
}

TEST_F(Laid, another_run_can_be_the_one_that_stands_out) {
  water(8);
  const std::string text =
      page({{"range", "run"}, {"until", format_rfc3339(site.time - hours{48} + seconds{1})}});
  EXPECT_EQ(count(text, "<path class=\"earlier\""), 5u);
  EXPECT_THAT(text, HasSubstr("&amp;lay=3#laid"));
  EXPECT_THAT(text, HasSubstr("until=2026-05-02T12%3A00%3A01.000Z&amp;lay="));
}

TEST_F(Laid, a_number_that_cannot_be_is_refused) {
  water(3);
  for (const char* wrong : {"0", "1", "13", "many"})
    EXPECT_THAT(page({{"lay", wrong}}), HasSubstr("lay")) << wrong;
  EXPECT_THAT(page({{"lay", "many"}}), Not(HasSubstr("Recorded current")));
}

TEST_F(Laid, it_stays_small) {
  water(13);
  EXPECT_LT(page({{"lay", "12"}}).size() - page({{"lay", "3"}}).size(), 16'000u);
}

coilward::Run switched_on(double peak) {
  coilward::Run run{4, test_now(), test_now() + minutes{10}};
  run.inrush_amps = peak;
  run.hold_amps = 0.231;
  run.seat_ms = 38;
  for (int ms = 0; ms < 200; ms += 10) run.burst.push_back({ms, static_cast<float>(ms < 40 ? peak : 0.231)});
  return run;
}

TEST(SwitchOn, names_peak_and_holding_and_lays_earlier_ones_under) {
  NormalDraw normal{4, 0.231, 0.214, 0.248, 0.4, 0.37, 0.43, 30, false};
  std::vector<coilward::Run> runs = {coilward::Run{4}, switched_on(0.41), switched_on(0.40),
                                     switched_on(0.39)};
  const std::string part = switch_on_part(runs, normal, web_test_config());
  EXPECT_EQ(PageCheck(part).fault(), "");
  for (const char* text : {"0.410 A (normal 0.370 to 0.430 A)", "0.231 A (normal 0.214 to 0.248 A)",
                           "after 38 ms", "2 before it"})
    EXPECT_THAT(part, HasSubstr(text));
  EXPECT_EQ(count(part, "<path class=\"earlier\""), 2u);
  EXPECT_EQ(count(part, "class=\"band\""), 2u);
  EXPECT_EQ(switch_on_part({coilward::Run{4}}, normal, web_test_config()), "");
}

}  // namespace
}  // namespace coilward
