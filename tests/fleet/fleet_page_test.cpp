// The contractor's page over a real database.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <iostream>

#include "tests/fleet/fleet_stage.h"

namespace coilward {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

// Sites of which every tenth has a zone down, every 25th will have, every 100th is silent, as one statement.
void fill(TestDatabase& database, int sites) {
  const std::string n = std::to_string(sites);
  database.run(
      "insert into site (site, name, timezone, last_heard, online) select 'site-' || i, 'Rowan Walk ' || i, "
      "'America/Boise', now() - case when i % 100 = 1 then interval '3 days' else interval '1 hour' end, i % "
      "100 <> 1 "
      "from generate_series(1, " +
      n +
      ") i;"
      "insert into zone (site, zone, name, normal_amps, last_run, last_water) select 'site-' || i, z, 'Bed ' "
      "|| z, "
      "0.231, now() - interval '5 hours', now() - (i % 7) * interval '1 day' from generate_series(1, " +
      n +
      ") i, generate_series(1, 12) z;"
      "insert into finding (site, id, fault, severity, zones, probability, opened, updated, closed, summary, "
      "body) "
      "select 'site-' || i, 'f-' || i || '-' || k, 'open_circuit', s, array[z]::smallint[], 0.9, t, t, c, "
      "'Zone ' || z || ' took no current <b>.', json_build_object('id', 'f-' || i || '-' || k, 'site', 'x', "
      "'fault', "
      "'open_circuit', 'zones', array[z], 'severity', (array['watch','soon','urgent'])[s + 1], "
      "'probability', 0.9, "
      "'alternatives', '[]'::json, 'where', '[]'::json, 'opened', to_char(t at time zone 'utc', "
      "'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"'), 'updated', to_char(t at time zone 'utc', "
      "'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"'), "
      "'closed', case when c is not null then to_char(c at time zone 'utc', "
      "'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"') end, "
      "'evidence', '[]'::json, 'summary', 'Zone ' || z || ' took no current <b>.') from (select i, k, "
      "case when k = 0 and i % 10 = 0 then 2 when k = 0 and i % 25 = 0 then 1 else 0 end s, k + 1 z, "
      "now() - (k * 20 + 1) * interval '1 day' t, case when k > 0 then now() end c from generate_series(1, " +
      n +
      ") i, generate_series(0, 4) k where k > 0 or i % 10 = 0 or i % 25 = 0) x;"
      "analyze");
}

TEST(FleetPage, RanksFiltersShowsAndAcknowledges) {
  COILWARD_NEEDS_POSTGRESQL();
  FleetStage stage;
  ASSERT_TRUE(stage.sound()) << stage.log();
  EXPECT_THAT(stage.get("/"), HasSubstr("No site has sent anything yet"));
  fill(stage.database, 200);
  const std::string page = stage.get("/");
  EXPECT_THAT(page, HasSubstr("20 sites need a visit"));
  EXPECT_THAT(page, HasSubstr("no water for 6 days"));
  EXPECT_LT(page.find("no water for 6 days"), page.find("no water for 2 days")) << "the driest first";
  EXPECT_THAT(page, HasSubstr("took no current &lt;b&gt;."));
  EXPECT_THAT(stage.get("/?show=silent"), HasSubstr("Nothing heard for 3 days"));
  EXPECT_THAT(stage.get("/?show=soon"), HasSubstr("/site/site-25\""));
  EXPECT_THAT(stage.get("/?show=soon"), Not(HasSubstr("/site/site-10\"")));
  EXPECT_THAT(stage.get("/?find=walk+117"), HasSubstr("/site/site-117\""));
  EXPECT_THAT(stage.get("/?find=%25"), HasSubstr("No site matches"));
  EXPECT_THAT(stage.get("/?page=4"), HasSubstr("Earlier"));
  EXPECT_THAT(stage.get("/?shwo=soon"), HasSubstr("400 Bad Request"));
  const std::string site = stage.get("/site/site-10");
  EXPECT_THAT(site, HasSubstr("Rowan Walk 10"));
  EXPECT_THAT(site, HasSubstr("Zone 1 (Bed 1) is not watering"));
  const std::string token = FleetStage::text_after(site, "name=\"token\" value=\"", '"');
  EXPECT_THAT(stage.post("/site/site-10/finding/f-10-0/acknowledge", "token=0123&by=Ana"), HasSubstr("403"));
  EXPECT_THAT(stage.post("/site/site-10/finding/f-10-0/acknowledge", "token=" + token + "&by=Ana"),
              HasSubstr("303"));
  EXPECT_THAT(stage.get("/site/site-10"), HasSubstr("Acknowledged by Ana,"));
  EXPECT_THAT(stage.get("/"), HasSubstr("19 sites need a visit"));
  EXPECT_THAT(stage.get("/site/nowhere"), HasSubstr("404 Not Found"));
  EXPECT_THAT(stage.get("/metrics"), HasSubstr("coilward_fleet_sites 200"));
}

TEST(FleetPage, TheFirstPageOfTenThousandSites) {
  COILWARD_NEEDS_POSTGRESQL();
  FleetStage stage;
  ASSERT_TRUE(stage.sound()) << stage.log();
  fill(stage.database, 10'000);
  ASSERT_THAT(stage.get("/"), HasSubstr("1000 sites need a visit"));
  // Processor time rather than a clock's: the machine may be busy with other things.
  constexpr int kTimes = 20;
  const double before_ms = stage.cpu_ms();
  const auto begin = std::chrono::steady_clock::now();
  for (int i = 0; i < kTimes; ++i) ASSERT_THAT(stage.get("/"), HasSubstr("1000 sites need a visit"));
  const double ms = (stage.cpu_ms() - before_ms) / kTimes;
  const std::chrono::duration<double, std::milli> wall = std::chrono::steady_clock::now() - begin;
  std::cout << "the first page of 10,000 sites: " << ms << " ms of processor time, " << wall.count() / kTimes
            << " ms by the clock\n";
  EXPECT_LT(ms, 200);
}

}  // namespace
}  // namespace coilward
