#include "daemon/history/residuals.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

namespace coilward {
namespace {

using Numbers = std::vector<std::int64_t>;

Numbers noise_about_a_level(std::size_t count, double spread) {
  std::mt19937_64 random(7);
  std::normal_distribution<double> noise(0, spread);
  Numbers numbers(count);
  for (std::size_t i = 0; i < count; ++i)
    numbers[i] = std::llround((i < count / 2 ? 0 : 230) + noise(random));
  return numbers;
}

Numbers steps_of_chance(std::size_t count) {
  std::mt19937_64 random(8);
  Numbers numbers;
  for (std::int64_t at = 0; numbers.size() < count; at += static_cast<std::int64_t>(random() % 7) - 3)
    numbers.push_back(at);
  return numbers;
}

void expect_back(const Numbers& numbers) {
  for (Reach reach = 0; reach <= kMostReach; ++reach) {
    const auto back = take_residuals(put_residuals(numbers, reach), numbers.size(), reach);
    ASSERT_TRUE(back && *back == numbers) << static_cast<int>(reach);
  }
}

TEST(Residuals, BringEveryNumberBack) {
  constexpr auto kLeast = std::numeric_limits<std::int64_t>::min();
  constexpr auto kMost = std::numeric_limits<std::int64_t>::max();
  expect_back({});
  expect_back({kLeast, kMost, 0, -1, kMost, kLeast, 1});
  expect_back(noise_about_a_level(2000, 1.5));
  expect_back(noise_about_a_level(2000, 900));
  expect_back(steps_of_chance(2000));
}

TEST(Residuals, FollowALevelOnlyWhereThereIsOne) {
  EXPECT_EQ(best_reach(noise_about_a_level(3600, 1.5)), 4);
  EXPECT_EQ(best_reach(noise_about_a_level(3600, 40)), 8);
  EXPECT_EQ(best_reach(steps_of_chance(3600)), 0);
}

TEST(Residuals, RefuseAnotherCountOrReach) {
  const auto bytes = put_residuals({{1, 2, 3}}, 4);
  EXPECT_FALSE(take_residuals(bytes, 2, 4));
  EXPECT_FALSE(take_residuals(bytes, 4, 4));
  EXPECT_FALSE(take_residuals(bytes, 3, kMostReach + 1));
}

}  // namespace
}  // namespace coilward
