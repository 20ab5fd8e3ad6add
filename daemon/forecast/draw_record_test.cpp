#include "daemon/forecast/draw_record.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

coilward::Run run_of(int zone, double day, double amps) {
  coilward::Run run;
  run.zone = zone;
  run.start = *parse_rfc3339("2026-05-04T06:00:00Z") + Millis{static_cast<std::int64_t>(day * 86'400'000)};
  run.ended = RunEnd::switched_off;
  run.hold_amps = amps;
  return run;
}

NormalDraw normal_of(int zone, double amps, bool provisional = false) {
  NormalDraw normal;
  normal.zone = zone;
  normal.hold_amps = amps;
  normal.provisional = provisional;
  return normal;
}

DrawRecord record_of(const std::vector<coilward::Run>& runs) {
  DrawRecord record;
  for (const coilward::Run& run : runs) record.run(run);
  return record;
}

TEST(DrawRecordTest, WhatMovesAllZonesIsTakenOut) {
  std::vector<coilward::Run> runs;
  for (int day = 0; day < 10; ++day) {
    const double season = 1 + 0.01 * day;
    for (int zone = 1; zone <= 3; ++zone) runs.push_back(run_of(zone, day, 0.25 * season));
    runs.push_back(run_of(4, day, 0.2 * season * (1 - 0.02 * day)));
  }
  const auto shares = record_of(runs).shares(
      4, {4}, {normal_of(1, 0.25), normal_of(2, 0.25), normal_of(3, 0.25), normal_of(4, 0.2)});
  ASSERT_EQ(shares.size(), 10u);
  for (int day = 0; day < 10; ++day)
    EXPECT_NEAR(shares[static_cast<std::size_t>(day)].share, 1 - 0.02 * day, 0.012) << day;
}

// Zones beyond one bad splice of a common fall together: they are no measure of one another.
TEST(DrawRecordTest, ZonesOfOneFaultAreNoMeasureOfOneAnother) {
  std::vector<coilward::Run> runs;
  for (int day = 0; day < 10; ++day) {
    runs.push_back(run_of(1, day, 0.25));
    runs.push_back(run_of(4, day, 0.30 * (1 - 0.012 * day)));
    runs.push_back(run_of(5, day + 0.1, 0.20 * (1 - 0.008 * day)));
  }
  const auto shares =
      record_of(runs).shares(4, {4, 5}, {normal_of(1, 0.25), normal_of(4, 0.30), normal_of(5, 0.20)});
  ASSERT_EQ(shares.size(), 20u);
  EXPECT_NEAR(shares[18].share, 1 - 0.012 * 9, 1e-9);
  EXPECT_DOUBLE_EQ(shares[18].scale, 1);
  EXPECT_NEAR(shares[19].share, 1 - 0.008 * 9, 1e-9);
  EXPECT_DOUBLE_EQ(shares[19].scale, 1.5) << "the same ohms are more to a zone that draws more";
}

TEST(DrawRecordTest, WhatDoesNotTellIsLeftOut) {
  auto beside = run_of(4, 2, 0.18), inferred = run_of(4, 3, 0.18), cut = run_of(4, 4, 0.18),
       work = run_of(4, 5, 0.02), with_master = run_of(4, 6, 0.19);
  beside.shared_with = {1};
  inferred.inferred = true;
  cut.ended = RunEnd::cut_out;
  work.work_on_site = true;
  with_master.shared_with = {kMasterZone};
  const DrawRecord record = record_of({run_of(4, 0, 0.2), run_of(4, 0.5, 0.1), run_of(4, 1, kNotMeasured),
                                       beside, inferred, cut, work, with_master});
  const auto shares = record.shares(4, {4}, {normal_of(4, 0.2)});
  ASSERT_EQ(shares.size(), 2u);
  EXPECT_DOUBLE_EQ(shares[0].share, 1) << "oldest first, one in eighteen hours";
  EXPECT_DOUBLE_EQ(shares[1].share, 0.95);
  EXPECT_TRUE(record.shares(4, {4}, {normal_of(4, 0.2, true)}).empty()) << "not learned yet";
  EXPECT_TRUE(record.shares(4, {4}, {}).empty());
}

TEST(DrawRecordTest, GoesOnAfterARestartAndForgetsWhatWasMended) {
  std::vector<coilward::Run> runs;
  for (int day = 0; day < 100; ++day)
    for (int zone : {1, 4}) runs.push_back(run_of(zone, day, 0.2 + 0.0001 * day));
  const DrawRecord record = record_of(runs);
  DrawRecord other;
  other.restore(record.save());
  const std::vector<NormalDraw> normals = {normal_of(4, 0.2)};
  const auto before = record.shares(4, {4}, normals), after = other.shares(4, {4}, normals);
  ASSERT_EQ(before.size(), kMostShares);
  ASSERT_EQ(after.size(), before.size());
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_EQ(after[i].time, before[i].time);
    EXPECT_NEAR(after[i].share, before[i].share, 1e-9);
  }
  EXPECT_LT(record.save().dump().size(), 2 * kMostShares * 10) << "it is part of every snapshot";
  other.forget(4);
  EXPECT_TRUE(other.shares(4, {4}, normals).empty());
}

}  // namespace
}  // namespace coilward
