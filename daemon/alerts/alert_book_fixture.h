// A book that is asked at every instant at which it has something to say.
#pragma once

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "daemon/alerts/alert_book.h"
#include "daemon/alerts/alert_test_site.h"

namespace coilward {

using BookList = std::vector<std::string>;

struct BookTest : testing::Test {
  Config config = test_site();
  AlertBook book{config};
  std::vector<Alert> said;

  // Lets the book speak whenever it has something to say, until `end`, as a timer would.
  void run_until(UtcTime end) {
    for (UtcTime due = book.next_due(); due != kNever && due <= end; due = book.next_due())
      for (auto& alert : book.advance(due)) said.push_back(alert);
    EXPECT_TRUE(book.advance(end).empty());
  }
  void hear(const Finding& finding, UtcTime now) {
    run_until(now);
    book.finding(finding, now);
  }
  std::vector<std::string> kinds_and_minutes() const {
    std::vector<std::string> list;
    for (const auto& alert : said)
      list.push_back(fmt::format("{} {:.1f}", alert_kind_name(alert.kind),
                                 seconds_between(test_start(), alert.raised) / 3600));
    return list;
  }
};

}  // namespace coilward
