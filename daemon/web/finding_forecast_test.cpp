#include "daemon/web/finding_forecast.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/web/api.h"
#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

// Forty days of zone 4 losing a share of its draw each day, and of zone 1 as it always was.
void corrode(WebTestSite& site, double share_a_day) {
  std::vector<coilward::Run> runs;
  for (int day = 40; day > 0; --day)
    for (const int zone : {1, 4}) {
      coilward::Run run;
      run.zone = zone;
      run.start = test_now() - std::chrono::hours{24 * day};
      run.end = run.start + std::chrono::minutes{10};
      run.ended = RunEnd::switched_off;
      run.hold_amps = 0.231 * (zone == 4 ? 1 - share_a_day * (40 - day) : 1) + 0.0003 * (day % 3);
      runs.push_back(run);
    }
  site.keep({}, runs);
  site.findings_ = {web_test_finding()};
  site.findings_[0].fault = Fault::high_resistance;
}

std::string ask_site(WebTestSite& site, const std::string& path) {
  Api api(site);
  std::string body;
  api.handle({"GET", path, {}, ""}, [&](const ApiResponse& answer) { body = answer.body; });
  return body;
}

TEST(FindingForecast, StandsOnThePageAndInTheJson) {
  WebTestSite site;
  corrode(site, 0.003);
  const std::string id = site.findings_[0].id, page = ask_site(site, "/finding/" + id);
  EXPECT_THAT(page, HasSubstr("How long it will still do"));
  EXPECT_EQ(PageCheck(page).fault(), "");
  const Json json = Json::parse(ask_site(site, "/api/v1/findings/" + id));
  ASSERT_TRUE(json.contains("forecast"));
  const auto likely = parse_rfc3339(json["forecast"]["no_longer_lifts"]["likely"].get<std::string>());
  ASSERT_TRUE(likely);
  EXPECT_GT(*likely, test_now());
  EXPECT_LT(*likely, test_now() + std::chrono::hours{24 * 60});
}

TEST(FindingForecast, IsLeftOutWhereNothingCanBeSaid) {
  WebTestSite site;
  corrode(site, 0);
  const std::string id = site.findings_[0].id;
  EXPECT_THAT(ask_site(site, "/finding/" + id), Not(HasSubstr("How long it will still do")));
  EXPECT_FALSE(Json::parse(ask_site(site, "/api/v1/findings/" + id)).contains("forecast"));
  WebTestSite other;
  corrode(other, 0.003);
  other.findings_[0].fault = Fault::partial_open;
  EXPECT_FALSE(forecast_of(other.findings_[0], other)) << "a trend of another fault";
}

}  // namespace
}  // namespace coilward
