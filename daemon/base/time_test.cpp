#include "daemon/base/time.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

// RFC 3339 section 5.8, examples; instants computed with a general calendar.
TEST(Time, ReadsTheExamplesOfRfc3339) {
  EXPECT_EQ(to_ms(*parse_rfc3339("1985-04-12T23:20:50.52Z")), 482196050520);
  EXPECT_EQ(to_ms(*parse_rfc3339("1996-12-19T16:39:57-08:00")), 851042397000);
  EXPECT_EQ(parse_rfc3339("1996-12-19T16:39:57-08:00"), parse_rfc3339("1996-12-20T00:39:57Z"));
  EXPECT_EQ(to_ms(*parse_rfc3339("1937-01-01T12:00:27.87+00:20")), -1041337172130);
}

TEST(Time, LeapSecondIsTheNextMinute) {
  EXPECT_EQ(parse_rfc3339("1990-12-31T23:59:60Z"), parse_rfc3339("1991-01-01T00:00:00Z"));
}

TEST(Time, ReadsOffsetsAsCommandLineBrokersPrintThem) {
  EXPECT_EQ(parse_rfc3339("2026-05-04T00:12:09.250123-0600"), parse_rfc3339("2026-05-04T06:12:09.250Z"));
  EXPECT_EQ(parse_rfc3339("2026-05-04T06:12:09+00"), parse_rfc3339("2026-05-04T06:12:09Z"));
}

TEST(Time, RefusesWhatIsNotATime) {
  for (const char* text : {"", "2026", "2026-02-30T00:00:00Z", "2026-05-04T24:00:00Z", "2026-05-04T06:12:09",
                           "2026-05-04T06:12:09.Z", "2026-05-04T06:12:09Zx", "2026-13-04T06:12:09Z",
                           "2026-05-04T06:61:09Z", "2026-05-04T06:12:09+1", "2026-05-04T06:12:09+06:0"})
    EXPECT_FALSE(parse_rfc3339(text)) << text;
}

TEST(Time, WritesWhatItReads) {
  for (const char* text :
       {"2026-05-04T06:12:09.250Z", "1969-12-31T23:59:59.999Z", "2024-02-29T00:00:00.000Z"})
    EXPECT_EQ(format_rfc3339(*parse_rfc3339(text)), text);
  EXPECT_EQ(format_compact(*parse_rfc3339("2026-05-04T06:12:09.250Z")), "20260504-061209");
}

}  // namespace
}  // namespace coilward
