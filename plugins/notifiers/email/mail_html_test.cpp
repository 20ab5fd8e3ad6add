#include "plugins/notifiers/email/mail_html.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace coilward_plugins {
namespace {

using testing::HasSubstr;
using testing::Not;
using Json = nlohmann::json;

TEST(MailHtml, WhatOthersWroteStaysText) {
  const std::string html =
      mail_html({{"subject", "<b>\"& x"}, {"text", "a <script>\nb & c\n"}, {"site_name", "<i>"}}, "");
  for (const char* raw : {"<b>", "<script>", "<i>"}) EXPECT_THAT(html, Not(HasSubstr(raw)));
  EXPECT_THAT(html, HasSubstr("a &lt;script&gt;<br>\nb &amp; c"));
}

TEST(MailHtml, AsksNobodyForAnything) {
  const std::string html = mail_html({{"text", "x"}, {"draws", {{{"zone", 4}, {"amps", {1, 2, 3}}}}}}, "");
  for (const char* wrong : {"<img", "url(", "<link", "<script", "href", "src="})
    EXPECT_THAT(html, Not(HasSubstr(wrong)));
}

TEST(MailHtml, TheHeadlineIsSaidOnce) {
  const std::string html = mail_html({{"subject", "[Home] Zone 4 is dead"},
                                      {"site_name", "Home"},
                                      {"text", "Zone 4 is dead.\nSince Monday.\n\nNext."}},
                                     "");
  EXPECT_THAT(html, HasSubstr(">Zone 4 is dead</h1>\n<p>Since Monday.</p>\n<p>Next.</p>\n"));
}

TEST(MailHtml, TheLinkLeadsToTheFindingAndNowhereElse) {
  const Json alert = {{"findings", {{{"id", "a b\"><x/../"}}}}};
  EXPECT_EQ(page_link(alert, "https://g.example"), "https://g.example/finding/a%20b%22%3E%3Cx%2F..%2F");
  EXPECT_EQ(page_link({{"findings", Json::array()}}, "https://g.example"), "https://g.example/");
  EXPECT_EQ(page_link(Json::object(), "https://g.example"), "https://g.example/");
}

TEST(MailHtml, ADrawNeedsThreeRunsAndSaysItsFigures) {
  EXPECT_EQ(draw_part({{"zone", 4}, {"amps", {0.2, 0.2}}}), "");
  for (const Json& wrong :
       {Json(nullptr), Json("x"), Json({{"amps", "x"}}), Json({{"amps", {"a", "b", "c"}}})})
    EXPECT_EQ(draw_part(wrong), "");
  const std::string part =
      draw_part({{"zone", 4}, {"amps", {0.23, nullptr, 0.115, 0.0}}, {"low", 0.214}, {"high", 0.248}});
  EXPECT_THAT(part, HasSubstr("<rect"));
  EXPECT_THAT(part,
              HasSubstr("Zone 4, its last 3 runs: 0.230 A first, 0.000 A last; normal is 0.214 to 0.248 A."));
  EXPECT_THAT(part, HasSubstr("▇▄▁"));
  EXPECT_THAT(draw_part({{"zone", 0}, {"amps", {0, 0, 0}}}), HasSubstr("The master valve"));
  EXPECT_THAT(draw_part({{"zone", 4}, {"amps", {0, 0, 0}}}), Not(HasSubstr("nan")));
}

}  // namespace
}  // namespace coilward_plugins
