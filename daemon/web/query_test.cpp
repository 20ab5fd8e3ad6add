#include "daemon/web/query.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

const UtcTime kNow = *parse_rfc3339("2026-05-04T12:00:00Z");

TEST(Query, durations_have_a_unit_or_are_seconds) {
  EXPECT_EQ(parse_duration("90"), Millis{90'000});
  EXPECT_EQ(parse_duration("1.5h"), Millis{5'400'000});
  EXPECT_EQ(parse_duration("2w"), Millis{14 * 86'400'000LL});
  for (const char* wrong : {"", "d", "-1h", "3 h", "5y", "nan", "inf", "1e40w", "0x10s"})
    EXPECT_FALSE(parse_duration(wrong)) << wrong;
}

TEST(Query, times_are_instants_days_at_the_site_or_so_long_ago) {
  const std::string zone = "America/Boise";
  EXPECT_EQ(*parse_when("2026-05-04T06:00:00-06:00", kNow, zone), kNow);
  EXPECT_EQ(*parse_when("12h", kNow, zone), *parse_rfc3339("2026-05-04T00:00:00Z"));
  EXPECT_EQ(*parse_when("2026-05-04", kNow, zone), *parse_rfc3339("2026-05-04T06:00:00Z"));
  EXPECT_EQ(*parse_when("now", kNow, zone), kNow);
  const auto wrong = parse_when("yesterday", kNow, zone);
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().cause, Cause::bad_input);
}

TEST(Query, percent_encoding_goes_both_ways_and_refuses_broken_escapes) {
  const std::string odd = "a b/ü%&=?";
  EXPECT_EQ(percent_decoded(percent_encoded(odd)), odd);
  EXPECT_EQ(percent_decoded("a+b", true), "a b");
  EXPECT_EQ(percent_decoded("a+b"), "a+b");
  for (const char* wrong : {"%", "%4", "%zz", "a%00"}) EXPECT_FALSE(percent_decoded(wrong)) << wrong;
}

TEST(Query, numbers_stay_in_their_range) {
  EXPECT_EQ(*parse_number("255", 0, 255, "zone"), 255);
  for (const char* wrong : {"", "256", "-1", "4x", "4.0"})
    EXPECT_FALSE(parse_number(wrong, 0, 255, "zone")) << wrong;
}

}  // namespace
}  // namespace coilward
