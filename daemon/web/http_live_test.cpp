// Answers without an end, forms and packed answers over real sockets.
#include <gmock/gmock.h>

#include "daemon/web/http_server_fixture.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::StartsWith;

class HttpLiveTest : public HttpServerTest {
 protected:
  static HttpLimits quick() {
    HttpLimits limits;
    limits.live_step = 10ms;
    return limits;
  }
};

TEST_F(HttpLiveTest, a_zone_that_draws_is_told_as_it_happens) {
  start(quick());
  Client page = tcp_client();
  page.send(get("/events", ""));
  const std::string head = page.receive("event: version");
  EXPECT_THAT(head, HasSubstr("Content-Type: text/event-stream"));
  EXPECT_THAT(head, HasSubstr("Connection: close"));
  on_core([&] {
    site_.edit_zones()[1].on = true;
    site_.edit_zones()[1].latest_amps = 0.321;
    return true;
  });
  EXPECT_THAT(page.receive("0.321 A"), HasSubstr("0.321 A"));
}

TEST_F(HttpLiveTest, its_asker_may_leave_at_any_time) {
  start(quick());
  {
    Client page = tcp_client();
    page.send(get("/events", ""));
    page.receive("event: version");
    EXPECT_TRUE(becomes(1));
  }
  EXPECT_TRUE(becomes(0));
}

TEST_F(HttpLiveTest, beyond_the_ceiling_it_is_refused_and_the_site_still_answers) {
  HttpLimits limits = quick();
  limits.live = 2;
  limits.per_address = 1;
  start(limits);
  std::vector<Client> pages;
  for (int i = 0; i < 2; ++i) {
    pages.push_back(tcp_client());
    pages.back().send(get("/events", ""));
    EXPECT_THAT(pages.back().receive("event: version"), HasSubstr("200 OK"));
  }
  EXPECT_THAT(tcp_client().ask(get("/events")), StartsWith("HTTP/1.1 503"));
  EXPECT_THAT(tcp_client().ask(get("/")), StartsWith("HTTP/1.1 200"));
  pages.pop_back();  // there is room again
  EXPECT_TRUE(becomes(1));
  Client next = tcp_client();
  next.send(get("/events", ""));
  EXPECT_THAT(next.receive("event: version"), HasSubstr("200 OK"));
}

TEST_F(HttpLiveTest, a_stop_ends_it) {
  start(quick());
  Client page = tcp_client();
  page.send(get("/events", ""));
  page.receive("event: version");
  on_core([&] { return server_->stop(), true; });
  EXPECT_TRUE(page.closed_within(10s));
}

TEST_F(HttpLiveTest, a_head_of_it_ends) {
  start(quick());
  EXPECT_THAT(tcp_client().ask("HEAD /events HTTP/1.1\r\nHost: localhost\r\n\r\n"),
              HasSubstr("text/event-stream"));
}

TEST_F(HttpLiveTest, a_form_of_our_own_page_is_done_over_tcp_and_one_from_elsewhere_is_not) {
  start();
  const std::string page = tcp_client().ask(get("/")), before = "name=\"token\" value=\"";
  const std::string body = "for=2h&token=" + page.substr(page.find(before) + before.size(), 32);
  const auto post = [&](const std::string& from) {
    return tcp_client().ask("POST /pause HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + from +
                            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: " +
                            std::to_string(body.size()) + "\r\n\r\n" + body);
  };
  EXPECT_THAT(post(""), StartsWith("HTTP/1.1 403"));
  EXPECT_THAT(post("Origin: http://evil.example\r\nSec-Fetch-Site: cross-site\r\n"),
              StartsWith("HTTP/1.1 403"));
  EXPECT_EQ(site_.paused_until, kNever);
  const std::string done = post("Origin: http://localhost\r\nSec-Fetch-Site: same-origin\r\n");
  EXPECT_THAT(done, StartsWith("HTTP/1.1 303"));
  EXPECT_THAT(done, HasSubstr("Location: /?said=paused\r\n"));
  EXPECT_EQ(site_.paused_until, test_now() + std::chrono::hours{2});
}

TEST_F(HttpLiveTest, what_is_worth_it_is_packed_for_those_who_take_it) {
  start();
  const std::string packed = tcp_client().ask(get("/", "Connection: close\r\nAccept-Encoding: gzip\r\n")),
                    plain = tcp_client().ask(get("/"));
  EXPECT_THAT(packed, HasSubstr("Content-Encoding: gzip\r\n"));
  EXPECT_EQ(plain.find("Content-Encoding"), std::string::npos);
  EXPECT_THAT(plain, HasSubstr("Vary: Accept-Encoding\r\n"));
  EXPECT_LT(packed.size(), plain.size() / 2);
}

TEST_F(HttpLiveTest, an_answer_in_pieces_is_packed_too) {
  std::vector<Reading> readings;
  for (int s = 0; s < 5000; ++s)
    readings.push_back({{ChannelKind::zone_current, 4}, test_now() - std::chrono::seconds{s}, 0.23});
  site_.keep(readings, {});
  start();
  const std::string target = "/api/v1/zones/4/history?format=csv";
  const std::string packed = tcp_client().ask(get(target, "Connection: close\r\nAccept-Encoding: gzip\r\n")),
                    plain = tcp_client().ask(get(target));
  EXPECT_THAT(packed, HasSubstr("Content-Encoding: gzip\r\n"));
  EXPECT_THAT(packed, testing::EndsWith("\r\n0\r\n\r\n"));
  EXPECT_THAT(plain, HasSubstr("Transfer-Encoding: chunked\r\n"));
  EXPECT_LT(packed.size(), plain.size() / 5);
}

TEST_F(HttpLiveTest, files_that_say_their_version_may_be_kept_and_pages_may_not) {
  start();
  EXPECT_THAT(tcp_client().ask(get("/assets/live.js?v=1")),
              HasSubstr("Cache-Control: public, max-age=31536000, immutable\r\n"));
  EXPECT_THAT(tcp_client().ask(get("/assets/live.js")), HasSubstr("Cache-Control: no-store\r\n"));
  EXPECT_THAT(tcp_client().ask(get("/")), HasSubstr("Cache-Control: no-store\r\n"));
  EXPECT_THAT(tcp_client().ask(get("/assets/uplot.js")), HasSubstr("The MIT License"));
  EXPECT_THAT(tcp_client().ask(get("/assets/none.js")), StartsWith("HTTP/1.1 404"));
}

}  // namespace
}  // namespace coilward
