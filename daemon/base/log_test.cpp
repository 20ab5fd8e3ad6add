#include "daemon/base/log.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cstdlib>
#include <nlohmann/json.hpp>

#include "daemon/base/log_limiter.h"
#include "daemon/base/log_line.h"

namespace coilward::log {
namespace {

using std::chrono::minutes;
using std::chrono::seconds;

const UtcTime kTime = *parse_rfc3339("2026-05-04T06:12:09.250Z");

TEST(LogLine, TextSaysTimeAndLevel) {
  EXPECT_EQ(format_line(Format::text, Level::warning, kTime, "broker: no answer"),
            "2026-05-04T06:12:09.250Z warning broker: no answer");
}

TEST(LogLine, JournalPrioritiesAreThoseOfSyslog) {
  EXPECT_EQ(format_line(Format::journal, Level::debug, kTime, "a"), "<7>a");
  EXPECT_EQ(format_line(Format::journal, Level::info, kTime, "a"), "<6>a");
  EXPECT_EQ(format_line(Format::journal, Level::warning, kTime, "a"), "<4>a");
  EXPECT_EQ(format_line(Format::journal, Level::error, kTime, "a"), "<3>a");
}

TEST(LogLine, TextFromOutsideCannotPassForALineOfOurs) {
  EXPECT_EQ(format_line(Format::journal, Level::info, kTime, "a\n<0>b\x1b[2J"), "<6>a\n<6>  <0>b\\x1b[2J");
}

TEST(LogLine, JsonIsOneObjectWhateverTheText) {
  const std::string line = format_line(Format::json, Level::error, kTime, "a\n\"b\" \xff");
  EXPECT_EQ(line.find('\n'), std::string::npos);
  const auto json = nlohmann::json::parse(line);
  EXPECT_EQ(json["time"], "2026-05-04T06:12:09.250Z");
  EXPECT_EQ(json["level"], "error");
  EXPECT_THAT(json["message"].get<std::string>(), testing::StartsWith("a\n\"b\" "));
}

TEST(LogLimiter, WritesAtOnceThenAfterOneFiveAndThirtyMinutes) {
  Limiter limiter;
  std::vector<int> written;
  std::uint64_t told = 0;
  for (int second = 0; second < 24 * 3600; second += 2) {
    const auto held = limiter.complain("broker", Limiter::Time{seconds(second)});
    if (!held) continue;
    written.push_back(second);
    told += 1 + *held;
  }
  ASSERT_GE(written.size(), 5U);
  EXPECT_THAT(std::vector<int>(written.begin(), written.begin() + 5),
              testing::ElementsAre(0, 60, 360, 2160, 3960));
  EXPECT_LT(written.size(), 60U);  // facts of log floods: a day without broker
  EXPECT_GT(told, 42000U);
}

TEST(LogLimiter, KeysDoNotShareTheirSilence) {
  Limiter limiter;
  EXPECT_TRUE(limiter.complain("a", {}));
  EXPECT_TRUE(limiter.complain("b", {}));
  EXPECT_FALSE(limiter.complain("a", {}));
}

TEST(LogLimiter, WhatIsOverStartsAnew) {
  Limiter limiter;
  EXPECT_FALSE(limiter.over("a"));
  limiter.complain("a", {});
  EXPECT_TRUE(limiter.over("a"));
  EXPECT_FALSE(limiter.over("a"));
  EXPECT_EQ(limiter.complain("a", {}), 0U);
}

TEST(LogLimiter, EndlessKeysCostBoundedMemory) {
  Limiter limiter;
  for (int i = 0; i < 5000; ++i) {
    limiter.complain("topic/" + std::to_string(i), Limiter::Time{seconds(i)});
    limiter.complain("topic/recurring", Limiter::Time{seconds(i)});
  }
  EXPECT_EQ(limiter.keys(), Limiter::kMostKeys);
  EXPECT_GT(limiter.complain("topic/recurring", Limiter::Time{minutes(300)}), 0U) << "forgotten";
}

TEST(Log, JournalOnlyWhenStderrIsTheJournal) {
  struct stat found {};
  ASSERT_EQ(::fstat(2, &found), 0);
  ::setenv("JOURNAL_STREAM", fmt::format("{}:{}", found.st_dev, found.st_ino).c_str(), 1);
  EXPECT_EQ(format_from_environment(), Format::journal);
  ::setenv("JOURNAL_STREAM", "1:2", 1);  // inherited by a shell with another stderr
  EXPECT_EQ(format_from_environment(), Format::text);
  ::unsetenv("JOURNAL_STREAM");
  EXPECT_EQ(format_from_environment(), Format::text);
}

TEST(Log, WritesToStderrFromItsLevelUp) {
  set_up(Level::warning, Format::journal);
  testing::internal::CaptureStderr();
  info("not {}", "this");
  warning("this {}", 1);
  limited(Level::error, "log_test", "once");
  limited(Level::error, "log_test", "once");
  limited_over("log_test", "over");  // info: below the level
  limited(Level::error, "log_test", "again");
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "<4>this 1\n<3>once\n<3>again\n");
  set_up(Level::info, Format::text);
}

}  // namespace
}  // namespace coilward::log
