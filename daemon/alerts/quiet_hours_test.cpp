// Quiet hours against the C library's idea of local time, minute by minute, through both changes of the year.
#include "daemon/alerts/quiet_hours.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <ctime>

namespace coilward {
namespace {

// The process's zone while it lives.
class LocalZone {
 public:
  explicit LocalZone(const char* name) {
    ::setenv("TZ", name, 1);
    ::tzset();
  }
  ~LocalZone() {
    ::unsetenv("TZ");
    ::tzset();
  }
};

int minute_shown(UtcTime time) {
  const std::time_t seconds = to_ms(time) / 1000;
  std::tm local{};
  ::localtime_r(&seconds, &local);
  return local.tm_hour * 60 + local.tm_min;
}

bool shown_quiet(const QuietHours& hours, int minute) {
  if (hours.start < hours.end) return minute >= hours.start && minute < hours.end;
  return minute >= hours.start || minute < hours.end;
}

struct Night {
  const char* zone;
  const char* from;  // a day and a half around the change
  bool autumn;       // an hour comes twice
};
constexpr Night kNights[] = {{"Europe/London", "2026-03-28T12:00:00Z", false},
                             {"Europe/London", "2026-10-24T12:00:00Z", true},
                             {"America/Los_Angeles", "2026-03-07T20:00:00Z", false},
                             {"America/Los_Angeles", "2026-10-31T20:00:00Z", true},
                             {"Australia/Lord_Howe", "2026-04-04T02:00:00Z", true},
                             {"Australia/Lord_Howe", "2026-10-03T02:00:00Z", false},
                             {"America/Phoenix", "2026-03-07T20:00:00Z", false},
                             {"America/Phoenix", "2026-10-31T20:00:00Z", false},
                             {"Europe/London", "2026-07-01T12:00:00Z", false}};

// Whether some moment within `span` before or after shows a minute that was shown already: the hour that
// comes twice.
bool near_a_repeated_hour(UtcTime time, const Night& night) {
  if (!night.autumn) return false;
  for (int minutes : {30, 60})
    for (int sign : {-1, 1})
      if (minute_shown(time + std::chrono::minutes{sign * minutes}) == minute_shown(time)) return true;
  return false;
}

class Nights : public testing::TestWithParam<Night> {};
INSTANTIATE_TEST_SUITE_P(All, Nights, testing::ValuesIn(kNights), [](const auto& each) {
  std::string name = each.param.zone + std::string("_") + std::string(each.param.from).substr(0, 10);
  for (char& c : name)
    if (!std::isalnum(static_cast<unsigned char>(c))) c = '_';
  return name;
});

// Sampled over all beginnings and ends: never woken at a minute that the clock on the wall calls quiet, quiet
// at no other but in the hour that comes twice, and every end is the one that was asked for.
TEST_P(Nights, AreAsTheClockOnTheWallSays) {
  const Night night = GetParam();
  const LocalZone zone(night.zone);
  const UtcTime from = *parse_rfc3339(night.from);
  int cases = 0;
  for (int start = 0; start < 1440; start += 97)
    for (int end = 0; end <= 1440; end += 60) {
      if (start == end || (start == 0 && end == 1440)) continue;
      const QuietHours hours{start, end};
      for (int minute = cases % 7; minute < 36 * 60; minute += 7) {
        const UtcTime now = from + std::chrono::minutes{minute};
        const auto until = quiet_until(hours, now, night.zone);
        if (shown_quiet(hours, minute_shown(now))) {
          ASSERT_TRUE(until) << start << "-" << end << " at " << format_rfc3339(now);
        } else if (until) {
          ASSERT_TRUE(near_a_repeated_hour(now, night))
              << start << "-" << end << " at " << format_rfc3339(now);
        }
        if (!until) continue;
        ASSERT_GT(*until, now);
        if ((start - end + 1440) % 1440 > 60) {  // else a change may leave nothing between two nights
          ASSERT_FALSE(quiet_until(hours, *until, night.zone)) << start << "-" << end;
        }
        const int shown = minute_shown(*until);
        if (shown == end % 1440) continue;  // else the clock jumped over it
        ASSERT_NE(minute_shown(*until - std::chrono::minutes{1}), (shown + 1439) % 1440);
      }
      ++cases;
    }
  EXPECT_GE(cases, 350);
}

TEST(QuietHours, AllDayHasOneMomentToSpeakIn) {
  const QuietHours day{7 * 60, 7 * 60};
  const auto now = *parse_rfc3339("2026-05-04T06:12:09Z");  // 00:12 in Boise
  EXPECT_EQ(quiet_until(day, now, "America/Boise"), *parse_rfc3339("2026-05-04T13:00:00Z"));
  EXPECT_EQ(quiet_until(day, *parse_rfc3339("2026-05-04T13:00:00Z"), "America/Boise"),
            *parse_rfc3339("2026-05-05T13:00:00Z"));
}

TEST(QuietHours, MidnightIsTwentyFourToo) {
  const QuietHours evening{20 * 60, 24 * 60};
  const auto at = [&](const char* time) { return quiet_until(evening, *parse_rfc3339(time), "UTC"); };
  EXPECT_EQ(at("2026-05-04T23:59:59.999Z"), *parse_rfc3339("2026-05-05T00:00:00Z"));
  EXPECT_FALSE(at("2026-05-05T00:00:00Z"));
  EXPECT_FALSE(at("2026-05-04T19:59:59Z"));
  EXPECT_EQ(quiet_until({24 * 60, 7 * 60}, *parse_rfc3339("2026-05-05T01:00:00Z"), "No/Such"),
            *parse_rfc3339("2026-05-05T07:00:00Z"));
}

TEST(QuietHours, AnotherZoneMovesThem) {
  const QuietHours night{22 * 60, 7 * 60};
  const auto now = *parse_rfc3339("2026-05-04T06:12:09Z");
  EXPECT_TRUE(quiet_until(night, now, "America/Boise"));
  EXPECT_FALSE(quiet_until(night, now, "Europe/Berlin"));  // 08:12
}

TEST(NextAt, IsTheNextMorning) {
  const auto at = [](const char* time) { return next_at(kMorning, *parse_rfc3339(time), "America/Boise"); };
  EXPECT_EQ(at("2026-05-04T06:12:09Z"), *parse_rfc3339("2026-05-04T13:00:00Z"));
  EXPECT_EQ(at("2026-05-04T13:00:00Z"), *parse_rfc3339("2026-05-05T13:00:00Z"));
}

}  // namespace
}  // namespace coilward
