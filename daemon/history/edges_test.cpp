#include "daemon/history/edges.h"

#include <gtest/gtest.h>

#include <cmath>

namespace coilward {
namespace {

UtcTime at(const char* text) { return *parse_rfc3339(text); }

std::vector<int> minutes_between(const std::vector<UtcTime>& edges) {
  std::vector<int> minutes;
  for (std::size_t i = 1; i < edges.size(); ++i)
    minutes.push_back(static_cast<int>((edges[i] - edges[i - 1]) / std::chrono::minutes{1}));
  return minutes;
}

std::vector<int> days(const char* from, const char* until, const char* zone) {
  const auto edges = day_edges(at(from), at(until), zone);
  EXPECT_TRUE(edges) << edges.error().what;
  return edges ? minutes_between(*edges) : std::vector<int>{};
}

TEST(Edges, AreWholeMinutesFromAMinuteUp) {
  const auto edges = even_edges(at("2026-05-04T06:12:09Z"), at("2026-05-04T06:20:00Z"), 150);
  ASSERT_TRUE(edges);
  EXPECT_EQ(minutes_between(*edges), (std::vector<int>{3, 3, 3}));
  EXPECT_EQ(edges->front(), at("2026-05-04T06:12:00Z"));
  EXPECT_GE(edges->back(), at("2026-05-04T06:20:00Z"));
}

TEST(Edges, AreWholeHoursFromTwoHoursUp) {
  const auto edges = even_edges(at("2026-05-04T06:12:09Z"), at("2026-05-04T20:00:00Z"), 7500);
  ASSERT_TRUE(edges);
  EXPECT_EQ(edges->front(), at("2026-05-04T06:00:00Z"));
  EXPECT_EQ(minutes_between(*edges), (std::vector<int>(5, 180)));
}

TEST(Edges, RefuseWhatCannotBe) {
  const auto now = at("2026-05-04T06:12:09Z");
  EXPECT_FALSE(even_edges(now, now, 10));
  EXPECT_FALSE(even_edges(now, now + Millis{1000}, 0));
  EXPECT_FALSE(even_edges(now, now + std::chrono::hours{10'000}, 0.001));
  EXPECT_FALSE(even_edges(now, now + Millis{1000}, std::nan("")));
  EXPECT_FALSE(day_edges(now, now + Millis{1000}, "Mars/Olympus"));
}

// Days on which clocks change are 23 or 25 hours long, or half an hour off.
TEST(Edges, DaysAreAsLongAsTheZoneHasThem) {
  EXPECT_EQ(days("2026-03-28T12:00:00Z", "2026-03-30T12:00:00Z", "Europe/London"),
            (std::vector<int>{1440, 1380, 1440}));
  EXPECT_EQ(days("2026-10-31T20:00:00Z", "2026-11-02T20:00:00Z", "America/Los_Angeles"),
            (std::vector<int>{1440, 1500, 1440}));
  EXPECT_EQ(days("2026-04-04T02:00:00Z", "2026-04-05T15:00:00Z", "Australia/Lord_Howe"),
            (std::vector<int>{1440, 1470, 1440}));
  EXPECT_EQ(days("2026-03-08T00:00:00Z", "2026-03-09T00:00:00Z", "America/Phoenix"),
            (std::vector<int>{1440, 1440}));
}

}  // namespace
}  // namespace coilward
