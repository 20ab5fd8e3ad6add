#include "daemon/runs/absences.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

std::vector<int> after(Absences& absences, int cycles, const std::vector<int>& seen) {
  std::vector<int> away;
  for (int i = 0; i < cycles; ++i)
    for (int zone : absences.end_cycle(seen)) away.push_back(zone);
  return away;
}

// Told once; it may be on purpose.
TEST(Absences, ZoneOfEveryCycleIsToldWhenItIsInNoneAnyMore) {
  Absences absences;
  EXPECT_TRUE(after(absences, 6, {1, 2, 3, 4}).empty());
  EXPECT_TRUE(after(absences, 2, {1, 2, 4}).empty());
  EXPECT_EQ(after(absences, 1, {1, 2, 4}), std::vector<int>{3});
  EXPECT_TRUE(after(absences, 20, {1, 2, 4}).empty());
}

TEST(Absences, ZoneOfAnotherProgrammeIsNotMissedInThisOne) {
  Absences absences;
  for (int week = 0; week < 6; ++week) {
    EXPECT_TRUE(after(absences, 6, {1, 2, 3}).empty());
    EXPECT_TRUE(after(absences, 1, {5, 6}).empty());
  }
}

// Whoever tries single zones by hand leaves the others out.
TEST(Absences, CycleOfFewZonesSaysNothing) {
  Absences absences;
  after(absences, 8, {1, 2, 3, 4, 5});
  EXPECT_TRUE(after(absences, 5, {2}).empty());
  EXPECT_TRUE(after(absences, 3, {1, 2, 3, 4, 5}).empty());
}

TEST(Absences, GoesOnFromWhatItSaved) {
  Absences absences, other;
  after(absences, 6, {1, 2, 3});
  after(absences, 2, {1, 2});
  other.restore(absences.save());
  EXPECT_EQ(after(other, 1, {1, 2}), std::vector<int>{3});
}

}  // namespace
}  // namespace coilward
