#include "daemon/intake/seen_keys.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

TEST(SeenKeys, KnowsAtLeastItsCapacityAndForgetsTheOldest) {
  SeenKeys keys(64);
  for (std::uint64_t i = 0; i < 1000; ++i) {
    keys.remember(mixed_key(i, 0), from_ms(static_cast<std::int64_t>(i)));
    for (std::uint64_t back = 0; back < 64 && back <= i; ++back)
      ASSERT_EQ(keys.when(mixed_key(i - back, 0)), from_ms(static_cast<std::int64_t>(i - back)));
    if (i >= 128) {
      ASSERT_EQ(keys.when(mixed_key(i - 128, 0)), kNever);
    }
  }
  const auto newest = keys.newest(10);
  ASSERT_EQ(newest.size(), 10u);
  EXPECT_EQ(newest[0].key, mixed_key(999, 0));
  EXPECT_EQ(newest[9].key, mixed_key(990, 0));
  keys.clear();
  EXPECT_EQ(keys.when(mixed_key(999, 0)), kNever);
}

TEST(SeenKeys, ToldAgainIsRenewed) {
  SeenKeys keys(64);
  keys.remember(7, from_ms(1));
  keys.remember(7, from_ms(2));
  EXPECT_EQ(keys.when(7), from_ms(2));
  EXPECT_EQ(keys.newest(10).size(), 1u);
}

// Keys that all want the same slot.
TEST(SeenKeys, CollisionsAreResolved) {
  SeenKeys keys(64);
  for (std::uint64_t i = 0; i < 64; ++i) keys.remember(i << 40, from_ms(static_cast<std::int64_t>(i)));
  for (std::uint64_t i = 0; i < 64; ++i) EXPECT_EQ(keys.when(i << 40), from_ms(static_cast<std::int64_t>(i)));
  EXPECT_EQ(keys.when(64ULL << 40), kNever);
}

}  // namespace
}  // namespace coilward
