// A day of a keeper in small: readings, runs, findings and alerts, hours that end, and what it said was done.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <set>
#include <string>
#include <vector>

#include "daemon/history/history_fixture.h"
#include "daemon/history/keeper.h"
#include "tests/support/power_vfs.h"

namespace coilward {

inline constexpr int kUnits = 40, kReadingsAUnit = 12, kUnitsAnHour = 8;
inline constexpr std::chrono::milliseconds kLong{30'000};

inline UtcTime day_start() { return test::at("2026-05-04T05:00:00Z"); }
inline UtcTime time_of_unit(std::uint64_t number) {
  return day_start() + std::chrono::minutes(60 / kUnitsAnHour) * static_cast<int>(number);
}

// Unit n of the day: always the same. Every fourth has no snapshot, every third tells of a finding.
inline CommitUnit unit_of_day(std::uint64_t number, std::uint64_t history_mark = 0) {
  CommitUnit unit;
  const UtcTime from = time_of_unit(number);
  if (number > history_mark) unit.readings = test::site_readings(from, kReadingsAUnit, 1, number);
  Run run;
  run.zone = 1;
  run.start = from;
  run.end = from + std::chrono::seconds(kReadingsAUnit);
  unit.runs.push_back(run);
  if (number % 3 == 0) {
    Finding finding;
    finding.id = "f" + std::to_string(number);
    finding.zones = {1};
    finding.opened = finding.updated = from;
    unit.findings.push_back(finding);
    unit.outbox.push_back({"a" + std::to_string(number), "mail", "{}", from});
  }
  if (number % 4 != 0) unit.snapshot = std::to_string(number);
  unit.mark = number;
  return unit;
}

inline KeeperOptions day_options(const std::string& directory) {
  KeeperOptions options;
  options.directory = directory;
  options.site = "s";
  options.names = test::two_commons();
  options.spare_bytes = 0;
  options.first_retry = std::chrono::milliseconds(5);
  return options;
}

// What was said to be done, and when.
struct Said {
  std::size_t step = 0;  // of the disk
  std::uint64_t unit = 0;
};

// The day from its first unit to its last, waiting for each to be committed.
inline std::vector<Said> live_through_day(const std::string& directory, const PowerVfs& disk) {
  FakeClock clock(day_start());
  auto keeper = Keeper::start(day_options(directory), {}, clock);
  EXPECT_TRUE(keeper) << keeper.error().what;
  std::vector<Said> said;
  for (std::uint64_t number = 1; keeper && number <= kUnits; ++number) {
    (*keeper)->post(unit_of_day(number));
    EXPECT_TRUE((*keeper)->flush(kLong));
    said.push_back({disk.steps(), number});
    clock.advance(std::chrono::minutes(60 / kUnitsAnHour));
  }
  if (keeper) {
    EXPECT_TRUE((*keeper)->stop(kLong));
  }
  return said;
}

}  // namespace coilward
