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

std::string ask_site(WebTestSite& site, const std::string& path) {
  Api api(site);
  std::string body;
  api.handle({"GET", path, {}, ""}, [&](const ApiResponse& answer) { body = answer.body; });
  return body;
}

Finding corroding() {
  Finding finding = web_test_finding();
  finding.fault = Fault::high_resistance;
  const auto day = [](int days) { return test_now() + std::chrono::hours{24 * days}; };
  finding.forecast =
      LiftForecast{4, {day(10), day(14), day(20)}, ForecastTime{day(40), day(50), day(70)}, 0.88, 31};
  return finding;
}

TEST(FindingForecast, StandsOnThePageAndInTheJson) {
  WebTestSite site;
  site.findings_ = {corroding()};
  const std::string id = site.findings_[0].id, page = ask_site(site, "/finding/" + id);
  EXPECT_THAT(page, HasSubstr("How long it will still do"));
  EXPECT_THAT(page, HasSubstr("the valve no longer opens between"));
  EXPECT_THAT(page, HasSubstr("It takes 88 in 100 of its normal draw now; below 80 in 100"));
  EXPECT_EQ(PageCheck(page).fault(), "");
  const Json json = Json::parse(ask_site(site, "/api/v1/findings/" + id));
  EXPECT_EQ(json["forecast"], forecast_to_json(*site.findings_[0].forecast));
}

TEST(FindingForecast, OfACommonNamesTheZoneThatFailsFirst) {
  Finding finding = corroding();
  finding.zones = {3, 4, 5};
  EXPECT_THAT(forecast_part(finding, WebTestSite().config()),
              HasSubstr("zone 4, the first of them, no longer"));
}

TEST(FindingForecast, IsLeftOutWhereNothingCanBeSaid) {
  WebTestSite site;
  site.findings_ = {corroding()};
  site.findings_[0].forecast.reset();
  const std::string id = site.findings_[0].id;
  EXPECT_THAT(ask_site(site, "/finding/" + id), Not(HasSubstr("How long it will still do")));
  EXPECT_FALSE(Json::parse(ask_site(site, "/api/v1/findings/" + id)).contains("forecast"));
}

}  // namespace
}  // namespace coilward
