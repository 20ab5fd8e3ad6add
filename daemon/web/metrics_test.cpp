#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>

#include "daemon/web/api.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

ApiResponse metrics_of(SiteAccess& site) {
  std::optional<ApiResponse> response;
  Api(site).handle({"GET", "/metrics", {}, ""}, [&](ApiResponse answer) { response = std::move(answer); });
  return response.value_or(ApiResponse{0});
}

std::vector<Metric> some_metrics() {
  return {
      {"coilward_messages", "Messages by outcome.", Metric::Kind::counter, {{"outcome", "stored"}}, 12},
      {"coilward_queue",
       "A gauge \\ with\nodd \"help\".",
       Metric::Kind::gauge,
       {{"name", "a\"b\\c\nd"}},
       0.5},
      {"coilward_messages", "Messages by outcome.", Metric::Kind::counter, {{"outcome", "rejected"}}, 1e9}};
}

TEST(Metrics, families_stand_together_and_the_end_is_marked) {
  WebTestSite site;
  site.counters = some_metrics();
  const ApiResponse response = metrics_of(site);
  EXPECT_EQ(response.content_type, "application/openmetrics-text; version=1.0.0; charset=utf-8");
  EXPECT_NE(
      response.body.find("# TYPE coilward_messages counter\n# HELP coilward_messages Messages by outcome.\n"
                         "coilward_messages_total{outcome=\"stored\"} 12\n"
                         "coilward_messages_total{outcome=\"rejected\"} 1000000000\n"),
      std::string::npos)
      << response.body;
  EXPECT_TRUE(response.body.ends_with("# EOF\n"));
  EXPECT_NE(response.body.find("coilward_findings_open{severity=\"urgent\"} 0\n"), std::string::npos);
}

TEST(Metrics, an_openmetrics_parser_reads_them) {
  if (std::system("/usr/bin/python3 -c 'import prometheus_client' 2>/dev/null") != 0)
    GTEST_SKIP()
        << "python3-prometheus-client is not installed: the metrics were not read by a foreign parser";
  WebTestSite site;
  site.counters = some_metrics();
  const std::string file = site.directory / "metrics", script = site.directory / "read.py";
  std::ofstream(file) << metrics_of(site).body;
  std::ofstream(script)
      << "import sys\n"
         "from prometheus_client.openmetrics.parser import text_string_to_metric_families as parse\n"
         "found = {s.name: s for f in parse(open(sys.argv[1]).read()) for s in f.samples}\n"
         "assert found['coilward_messages_total'].value == 1e9\n"
         "assert found['coilward_queue'].labels['name'] == 'a\"b\\\\c\\nd'\n"
         "assert found['coilward_zone_normal_amperes'].value == 0.231\n";
  EXPECT_EQ(std::system(("/usr/bin/python3 " + script + " " + file).c_str()), 0);
}

}  // namespace
}  // namespace coilward
