#include "plugins/notifiers/email/mail_text.h"

#include <gtest/gtest.h>

#include <sstream>

namespace coilward_plugins {
namespace {

TEST(HeaderText, OrdinaryWordsStayAsTheyAre) {
  EXPECT_EQ(header_text("Zone 4 is broken"), "Zone 4 is broken");
}

TEST(HeaderText, WordsAreAtMostSeventyFiveCharactersAndNeverSplitACharacter) {
  std::string text;
  for (int i = 0; i < 60; ++i) text += "東ü";
  std::istringstream lines(header_text(text));
  std::string line;
  while (std::getline(lines, line)) {
    if (line.back() == '\r') line.pop_back();
    EXPECT_LE(line.size(), 76u) << line;
  }
}

TEST(HeaderText, ControlCharactersAndBrokenUtf8AreHarmless) {
  EXPECT_EQ(header_text("a\r\nBcc: b\x01"), "a  Bcc: b ");
  EXPECT_EQ(clean_utf8("a\xff\xc3(\xe6\x9d"),
            "a??"
            "(??");
}

TEST(HeaderText, WhatLooksEncodedIsEncodedOnceMore) {
  EXPECT_EQ(header_text("=?UTF-8?B?eA==?="), "=?UTF-8?B?PT9VVEYtOD9CP2VBPT0/PQ==?=");
}

TEST(MessageId, IsTheAlertsIdAndNothingElse) {
  EXPECT_EQ(message_id("a-1.opened.1+2-0f", "b.example"), "<a-1.opened.1+2-0f@b.example>");
  EXPECT_EQ(message_id("a b>\r\nX: c..d.", "b.example"), "<a-b---X--c.-d.-@b.example>");
  EXPECT_EQ(message_id("", ""), "<-@coilward.invalid>");
}

TEST(Address, BareAndSound) {
  EXPECT_EQ(bare_address("Anna <anna@example.org>"), "anna@example.org");
  EXPECT_EQ(bare_address("anna@example.org"), "anna@example.org");
  EXPECT_EQ(bare_address("anna"), "");
  EXPECT_EQ(bare_address("a b@example.org"), "");
  EXPECT_EQ(bare_address("<a@b> <c@d"), "a@b");
  EXPECT_EQ(domain_of("Anna <anna@example.org>"), "example.org");
}

TEST(MailDate, IsRfc5322) { EXPECT_EQ(mail_date(1777875129), "Mon, 04 May 2026 06:12:09 +0000"); }

}  // namespace
}  // namespace coilward_plugins
