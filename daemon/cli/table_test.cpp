#include "daemon/cli/table.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/cli/line_sink.h"
#include "daemon/cli/words.h"

namespace coilward {
namespace {

TEST(Table, columns_are_as_wide_as_they_must_be_also_for_umlauts) {
  Table table({{"Zone", true}, {"Name"}, {"Draw", true}});
  table.add({"4", "Östliche Hecke", "0.231 A"});
  table.add({"12", "", "-"});
  EXPECT_EQ(table.text(),
            "Zone  Name               Draw\n"
            "   4  Östliche Hecke  0.231 A\n"
            "  12                        -\n");
}

TEST(Words, times_are_the_sites_and_quantities_have_units) {
  const UtcTime time = *parse_rfc3339("2026-05-04T06:12:09.250Z");
  EXPECT_EQ(local_seconds(time, "America/Boise"), "2026-05-04 00:12:09");
  EXPECT_EQ(local_seconds(time, "Nowhere/At_All"), "2026-05-04 06:12:09Z");
  EXPECT_EQ(local_seconds(Json(nullptr), "UTC"), "-");
  EXPECT_EQ(quantity(0.2314), "0.231 A");
  EXPECT_EQ(quantity(26.4, "V"), "26.40 V");
  EXPECT_EQ(quantity(1.0, ""), "on");
  EXPECT_EQ(quantity(Json(nullptr)), "-");
  EXPECT_EQ(length_of_time(time, time + Millis{750'000}), "12 min 30 s");
}

TEST(LineSink, pieces_become_lines_wherever_they_are_cut) {
  const std::string text = "one\ntwo\n\nfour\nrest";
  for (std::size_t cut = 0; cut <= text.size(); ++cut) {
    std::vector<std::string> lines;
    LineSink sink([&](std::string_view line) { lines.emplace_back(line); });
    sink.take(text.substr(0, cut));
    sink.take(text.substr(cut));
    EXPECT_EQ(lines, (std::vector<std::string>{"one", "two", "", "four"})) << cut;
  }
}

}  // namespace
}  // namespace coilward
