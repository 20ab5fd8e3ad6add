#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "daemon/web/api.h"
#include "daemon/web/web_test_site.h"

namespace coilward {
namespace {

constexpr Channel kZone4{ChannelKind::zone_current, 4};
const UtcTime kStart = *parse_rfc3339("2026-05-02T06:00:00Z");

Reading reading_at(std::int64_t seconds, double amps) {
  return {kZone4, kStart + Millis{1000 * seconds}, amps};
}
coilward::Run run_at(int zone, std::int64_t seconds) {
  coilward::Run run;
  run.zone = zone;
  run.start = kStart + Millis{1000 * seconds};
  run.end = run.start + Millis{600'000};
  run.ended = RunEnd::switched_off;
  run.hold_amps = 0.23;
  return run;
}

struct Pieces {
  std::string text;
  std::size_t count = 0, largest = 0;
};

class HistoryRoutes : public ::testing::Test {
 protected:
  ApiResponse ask(const std::string& path, std::map<std::string, std::string> query) {
    std::optional<ApiResponse> response;
    api.handle({"GET", path, std::move(query), ""},
               [&](ApiResponse answer) { response = std::move(answer); });
    return response.value_or(ApiResponse{0});
  }
  Pieces all(const std::string& path, std::map<std::string, std::string> query) {
    const ApiResponse response = ask(path, std::move(query));
    EXPECT_EQ(response.status, 200) << response.body;
    Pieces pieces{response.body};
    while (response.pieces) {
      const auto piece = response.pieces();
      EXPECT_TRUE(piece) << piece.error().what;
      if (!piece || piece->empty()) break;
      pieces.text += *piece;
      ++pieces.count;
      pieces.largest = std::max(pieces.largest, piece->size());
    }
    return pieces;
  }
  Json json(const std::string& path, std::map<std::string, std::string> query) {
    const std::string text = all(path, std::move(query)).text;
    Json value = Json::parse(text, nullptr, false);
    EXPECT_FALSE(value.is_discarded()) << text.substr(0, 200);
    return value;
  }

  WebTestSite site;
  Api api{site};
};

TEST_F(HistoryRoutes, readings_come_whole_and_in_order_over_days_and_gaps) {
  std::vector<Reading> readings;
  for (int day : {0, 1, 3})
    for (int i = 0; i < 4000; ++i) readings.push_back(reading_at(day * 86'400 + i, 0.23 + i * 1e-5));
  site.keep(readings, {});
  const Json answer = json("/api/v1/zones/4/history", {});
  EXPECT_EQ(answer["channel"], "zone/4/current");
  EXPECT_EQ(answer["unit"], "A");
  ASSERT_EQ(answer["readings"].size(), readings.size());
  for (std::size_t i = 0; i < readings.size(); i += 997)
    EXPECT_EQ(answer["readings"][i]["time"], format_rfc3339(readings[i].time)) << i;
  EXPECT_NEAR(answer["readings"].back()["value"].get<double>(), readings.back().value, 1e-6);
  EXPECT_GT(all("/api/v1/zones/4/history", {}).count, 2u);
}

TEST_F(HistoryRoutes, readings_not_committed_yet_are_part_of_it) {
  site.keep({reading_at(0, 0.21)}, {});
  site.pending = {reading_at(86'400, 0.22), reading_at(0, 0.21)};
  const Json answer = json("/api/v1/zones/4/history", {});
  ASSERT_EQ(answer["readings"].size(), 2u);
  EXPECT_NEAR(answer["readings"][1]["value"].get<double>(), 0.22, 1e-9);
}

TEST_F(HistoryRoutes, since_and_until_cut) {
  site.keep({reading_at(0, 0.1), reading_at(10, 0.2), reading_at(20, 0.3)}, {});
  const Json answer =
      json("/api/v1/zones/4/history", {{"since", "2026-05-02T06:00:10Z"}, {"until", "2026-05-02T06:00:20Z"}});
  ASSERT_EQ(answer["readings"].size(), 1u);
  EXPECT_EQ(answer["readings"][0]["value"], 0.2);
  EXPECT_EQ(ask("/api/v1/zones/4/history", {{"since", "now"}, {"until", "7d"}}).status, 400);
  EXPECT_EQ(ask("/api/v1/zones/4/history", {{"every", "0s"}}).status, 400);
  EXPECT_EQ(ask("/api/v1/zones/4/history", {{"format", "xml"}}).status, 400);
}

TEST_F(HistoryRoutes, buckets_count_every_reading_once) {
  std::vector<Reading> readings;
  for (int i = 0; i < 10'000; ++i) readings.push_back(reading_at(i * 31, 0.2 + (i % 7) * 0.01));
  site.keep(readings, {});
  for (const char* every : {"30s", "5m", "1h", "1d"}) {
    const Json answer = json("/api/v1/zones/4/history", {{"every", every}});
    std::uint64_t count = 0;
    for (const Json& bucket : answer["buckets"]) count += bucket["count"].get<std::uint64_t>();
    EXPECT_EQ(count, readings.size()) << every;
  }
  // A day is the site's: midnight in Boise is 06:00 UTC in May.
  const Json days = json("/api/v1/zones/4/history", {{"every", "1d"}});
  EXPECT_EQ(days["buckets"][0]["time"], "2026-05-02T06:00:00.000Z");
}

TEST_F(HistoryRoutes, nothing_recorded_is_an_empty_list) {
  site.keep({}, {});
  EXPECT_EQ(json("/api/v1/zones/1/history", {})["readings"].size(), 0u);
  EXPECT_EQ(json("/api/v1/zones/1/history", {{"every", "1h"}})["buckets"].size(), 0u);
  EXPECT_EQ(json("/api/v1/runs", {})["runs"].size(), 0u);
  EXPECT_EQ(json("/api/v1/export", {{"what", "readings"}})["readings"].size(), 0u);
  EXPECT_EQ(ask("/api/v1/zones/9/history", {}).status, 404);
}

TEST_F(HistoryRoutes, no_history_file_is_said_so) { EXPECT_EQ(ask("/api/v1/runs", {}).status, 404); }

TEST_F(HistoryRoutes, runs_come_once_each_over_pages_that_start_together) {
  std::vector<coilward::Run> runs;
  for (int i = 0; i < 700; ++i) runs.push_back(run_at(i % 2 ? 4 : 1, (i / 2) * 700));
  site.keep({}, runs);
  site.waiting_runs = {run_at(4, 0), run_at(1, 1'000'000)};
  site.waiting_runs[0].hold_amps = 0.5;  // a newer form of one in the file
  const Json all_runs = json("/api/v1/runs", {})["runs"];
  EXPECT_EQ(all_runs.size(), 701u);
  std::set<std::string> seen;
  for (const Json& run : all_runs) seen.insert(run["start"].get<std::string>() + run["zone"].dump());
  EXPECT_EQ(seen.size(), 701u);
  const Json of_four = json("/api/v1/runs", {{"zone", "4"}})["runs"];
  EXPECT_EQ(of_four.size(), 350u);
  EXPECT_EQ(of_four[0]["hold_amps"], 0.5);
}

TEST_F(HistoryRoutes, lines_and_csv_hold_the_same_rows) {
  site.keep({reading_at(0, 0.21), reading_at(1, 0.22)}, {run_at(4, 0)});
  site.findings_ = {web_test_finding()};
  for (const char* what : {"readings", "runs", "findings"}) {
    const std::string lines = all("/api/v1/export", {{"what", what}, {"format", "jsonl"}}).text;
    const std::string csv = all("/api/v1/export", {{"what", what}, {"format", "csv"}}).text;
    EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), std::count(lines.begin(), lines.end(), '\n') + 1)
        << what;
    EXPECT_GT(lines.size(), 10u);
    EXPECT_EQ(all("/api/v1/export", {{"what", what}, {"format", "csv-excel"}}).text.substr(0, 3),
              "\xEF\xBB\xBF");
  }
  EXPECT_EQ(ask("/api/v1/export", {{"what", "secrets"}}).status, 400);
}

TEST_F(HistoryRoutes, a_large_export_is_made_in_small_pieces) {
  std::vector<Reading> readings;
  for (int i = 0; i < 100'000; ++i) readings.push_back(reading_at(i, 0.23));
  site.keep(readings, {});
  const Pieces pieces = all("/api/v1/export", {{"what", "readings"}, {"format", "csv"}});
  EXPECT_EQ(std::count(pieces.text.begin(), pieces.text.end(), '\n'), 100'001);
  EXPECT_GE(pieces.count, 5u);
  EXPECT_LT(pieces.largest, 4u << 20);
}

}  // namespace
}  // namespace coilward
