// The login over real sockets: cookies, tokens, where a form comes from, waits, proxies, streams.
#include <gmock/gmock.h>

#include "daemon/web/http_server_fixture.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

std::string cookie_in(const std::string& answer, const std::string& name) {
  const std::string before = "Set-Cookie: " + name + "=";
  const auto at = answer.find(before);
  if (at == std::string::npos) return {};
  return name + "=" + answer.substr(at + before.size(), answer.find(';', at) - at - before.size());
}

std::string token_in(const std::string& answer) {
  const std::string before = "name=\"token\" value=\"";
  const auto at = answer.find(before);
  return at == std::string::npos ? "" : answer.substr(at + before.size(), 32);
}

class HttpLogin : public HttpServerTest {
 protected:
  void SetUp() override {
    ASSERT_TRUE(logins_.add("Sam", Role::technician, kSamsPassword));
    ASSERT_TRUE(logins_.add("Ann", Role::homeowner, kAnnsPassword));
  }
  std::string ask(const std::string& target, const std::string& more = "") {
    return tcp_client().ask(get(target, "Connection: close\r\n" + more));
  }
  std::string send_form(const std::string& path, const std::string& body,
                        const std::string& more = "Origin: http://localhost\r\n") {
    return tcp_client().ask("POST " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + more +
                            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: " +
                            std::to_string(body.size()) + "\r\n\r\n" + body);
  }
  std::string log_in(const std::string& name, const std::string& password, const std::string& more = "") {
    return send_form(
        "/login",
        "token=" + token_in(ask("/login")) + "&name=" + name + "&password=" + percent_encoded(password),
        "Origin: http://localhost\r\n" + more);
  }
};

TEST_F(HttpLogin, a_form_lets_in_and_the_cookie_keeps_it_so) {
  start();
  EXPECT_THAT(ask("/"), AllOf(StartsWith("HTTP/1.1 303"), HasSubstr("Location: /login\r\n")));
  EXPECT_THAT(ask("/api/v1/zones"), AllOf(StartsWith("HTTP/1.1 401"), HasSubstr("WWW-Authenticate: Bearer")));
  EXPECT_THAT(unix_client().ask(get("/api/v1/zones")), StartsWith("HTTP/1.1 200"));
  const std::string in = log_in("Sam", kSamsPassword);
  EXPECT_THAT(in, StartsWith("HTTP/1.1 303"));
  const std::string cookie = "Cookie: other=1; " + cookie_in(in, "coilward_session") + "\r\n";
  const std::string page = ask("/", cookie);
  EXPECT_THAT(page, AllOf(StartsWith("HTTP/1.1 200"), HasSubstr("Juniper Row 12"), HasSubstr("no-store")));
  EXPECT_THAT(send_form("/pause", "for=2h&token=" + token_in(page), "Origin: http://localhost\r\n" + cookie),
              StartsWith("HTTP/1.1 303"));
  EXPECT_NE(on_core([&] { return site_.paused_until; }), kNever);
}

TEST_F(HttpLogin, a_login_from_elsewhere_is_none) {
  start();
  const std::string body =
      "token=" + token_in(ask("/login")) + "&name=Sam&password=" + percent_encoded(kSamsPassword);
  for (const char* from : {"", "Origin: http://evil.example\r\n", "Origin: null\r\n",
                           "Origin: http://localhost\r\nSec-Fetch-Site: cross-site\r\n"})
    EXPECT_THAT(send_form("/login", body, from),
                AllOf(StartsWith("HTTP/1.1 403"), Not(HasSubstr("Set-Cookie"))));
}

TEST_F(HttpLogin, who_guesses_is_told_how_long_to_wait) {
  start();
  std::string last;
  for (int i = 0; i < 6; ++i) last = log_in("Sam", "guess number " + std::to_string(i));
  EXPECT_THAT(last, AllOf(StartsWith("HTTP/1.1 429"), HasSubstr("Retry-After: ")));
}

TEST_F(HttpLogin, of_a_proxy_it_is_believed_whom_it_asks_for) {
  HttpOptions options;
  options.behind_proxy = true;
  start(options);
  const std::string proxied =
      "X-Forwarded-For: 1.2.3.4, 203.0.113.9\r\nX-Forwarded-Proto: https\r\nOrigin: https://localhost\r\n";
  const std::string in = send_form(
      "/login", "token=" + token_in(ask("/login")) + "&name=Sam&password=" + percent_encoded(kSamsPassword),
      proxied);
  EXPECT_THAT(in, AllOf(HasSubstr("__Host-coilward_session="), HasSubstr("; Secure")));
  EXPECT_EQ(on_core([&] { return logins_.logins->sessions("Sam").front().from; }), "203.0.113.9");
  EXPECT_THAT(tcp_client().ask("GET /login HTTP/1.1\r\nHost: garden.example\r\nConnection: close\r\n\r\n"),
              StartsWith("HTTP/1.1 200"));
}

TEST_F(HttpLogin, of_anybody_else_it_is_not) {
  start();
  const std::string in =
      log_in("Sam", kSamsPassword, "X-Forwarded-For: 10.0.0.1\r\nX-Forwarded-Proto: https\r\n");
  EXPECT_THAT(in, AllOf(HasSubstr("Set-Cookie: coilward_session="), Not(HasSubstr("Secure"))));
  EXPECT_EQ(on_core([&] { return logins_.logins->sessions("Sam").front().from; }), "127.0.0.1");
}

TEST_F(HttpLogin, a_stream_ends_with_its_session) {
  HttpLimits limits;
  limits.live_step = std::chrono::milliseconds{20};
  start(limits);
  const std::string cookie = cookie_in(log_in("Ann", kAnnsPassword), "coilward_session");
  Client live = tcp_client();
  live.send(get("/events", "Cookie: " + cookie + "\r\n"));
  EXPECT_THAT(live.receive("event: version"), HasSubstr("text/event-stream"));
  on_core([&] {
    logins_.logins->remove_person("Ann", [](const Result<bool>& done) { EXPECT_TRUE(done); });
    return true;
  });
  EXPECT_THAT(live.receive(), Not(HasSubstr("never")));  // returns at the end of the connection
  EXPECT_TRUE(becomes(0));
}

TEST_F(HttpLogin, no_secret_is_in_an_answer_that_need_not_have_it) {
  start();
  const std::string cookie =
      "Cookie: " + cookie_in(log_in("Sam", kSamsPassword), "coilward_session") + "\r\n";
  const std::string secret = cookie.substr(cookie.find('=') + 1, 43);
  for (const char* path : {"/", "/account", "/share", "/told", "/metrics", "/healthz", "/api/v1/site",
                           "/api/v1/session", "/api/v1/shares", "/api/v1/health"}) {
    const std::string answer = ask(path, cookie);
    EXPECT_THAT(answer, StartsWith("HTTP/1.1 200")) << path;
    EXPECT_THAT(answer, AllOf(Not(HasSubstr(secret)), Not(HasSubstr("argon2")))) << path;
  }
  EXPECT_THAT(unix_client().ask(get("/api/v1/people")), AllOf(HasSubstr("Sam"), Not(HasSubstr("argon2"))));
}

}  // namespace
}  // namespace coilward
