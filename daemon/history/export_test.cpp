#include "daemon/history/export.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/history/history_fixture.h"

namespace coilward {
namespace {

using namespace test;

std::vector<Reading> one_reading() { return {{zone_current(4), at("2026-05-04T06:12:09.250Z"), 0.231}}; }

TEST(Export, WritesReadingsAsRfc4180) {
  std::string out = readings_header(ExportForm::csv);
  append_readings(out, ExportForm::csv, one_reading(), two_commons());
  EXPECT_EQ(out,
            "time (UTC),unix (s),channel,value,unit,time_unsure\r\n"
            "2026-05-04T06:12:09.250Z,1777875129.250,zone/4/current,0.231,A,0\r\n");
}

TEST(Export, WritesWhatExcelReadsInACommaCountry) {
  std::string out = readings_header(ExportForm::csv_excel);
  append_readings(out, ExportForm::csv_excel, one_reading(), two_commons());
  EXPECT_EQ(out,
            "\xEF\xBB\xBFtime (UTC);unix (s);channel;value;unit;time_unsure\r\n"
            "2026-05-04T06:12:09.250Z;1777875129,250;zone/4/current;0,231;A;0\r\n");
}

TEST(Export, WritesJsonLines) {
  std::string out = readings_header(ExportForm::json_lines);
  append_readings(out, ExportForm::json_lines, one_reading(), two_commons());
  const auto json = nlohmann::json::parse(out);
  EXPECT_EQ(json.at("unix_s"), 1777875129.25);
  EXPECT_EQ(json.at("value"), 0.231);
  EXPECT_EQ(out.back(), '\n');
}

TEST(Export, MakesCellsSafe) {
  EXPECT_EQ(csv_cell("=1+1"), "'=1+1");
  EXPECT_EQ(csv_cell("@x,\"y\""), "\"'@x,\"\"y\"\"\"");
  EXPECT_EQ(csv_cell("-5"), "'-5");
  EXPECT_EQ(csv_cell("a;b"), "a;b");
  EXPECT_EQ(csv_cell("a;b", ';'), "\"a;b\"");
  EXPECT_EQ(csv_cell("two\nlines"), "\"two\nlines\"");
  EXPECT_EQ(csv_cell(""), "");
}

TEST(Export, NumbersReadBackTheSame) {
  for (double value : {0.1, 1.0 / 3, -2.5e-7, 1e21, 0.23100000619888306})
    EXPECT_EQ(std::stod(csv_number(value)), value);
  EXPECT_EQ(csv_number(kNotMeasured), "");
  EXPECT_EQ(csv_number(-0.5, ','), "-0,5");
}

TEST(Export, RowsHaveAsManyCellsAsTheirHeader) {
  const auto cells = [](const std::string& line) { return std::count(line.begin(), line.end(), ',') + 1; };
  coilward::Run run;
  run.zone = 4;
  run.start = at("2026-05-04T06:12:09.250Z");
  run.end = at("2026-05-04T06:27:09.250Z");
  run.shared_with = {0, 7};
  std::string row;
  append_runs(row, ExportForm::csv, {&run, 1});
  EXPECT_EQ(cells(row), cells(runs_header(ExportForm::csv))) << row;
  Bucket bucket{run.start, run.end, {}};
  bucket.values.add(0.2);
  row.clear();
  append_buckets(row, ExportForm::csv, {&bucket, 1}, zone_current(4), two_commons());
  EXPECT_EQ(cells(row), cells(buckets_header(ExportForm::csv))) << row;
}

}  // namespace
}  // namespace coilward
