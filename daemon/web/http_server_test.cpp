// Real sockets against the real server, on a thread of its own.
#include "daemon/web/http_server.h"

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/stat.h>

#include <fstream>

#include "daemon/web/http_server_fixture.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

std::size_t open_descriptors() {
  return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator("/proc/self/fd"), {}));
}

TEST_F(HttpServerTest, answers_on_both_sockets_with_security_headers) {
  start();
  for (const std::string& answer :
       {unix_client().ask(get("/api/v1/zones")), tcp_client().ask(get("/api/v1/zones"))}) {
    EXPECT_TRUE(answer.starts_with("HTTP/1.1 200 OK\r\n")) << answer;
    for (const char* header :
         {"X-Content-Type-Options: nosniff", "default-src 'none'", "Cache-Control: no-store"})
      EXPECT_NE(answer.find(header), std::string::npos) << header;
    EXPECT_NE(answer.find("\"hold_amps\":0.231"), std::string::npos);
  }
}

TEST_F(HttpServerTest, the_socket_is_for_owner_and_group) {
  start();
  struct stat status = {};
  ASSERT_EQ(::stat(path_.c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0660u);
}

TEST_F(HttpServerTest, tcp_reads_only_and_only_under_loopback_names) {
  start();
  EXPECT_TRUE(
      tcp_client()
          .ask("POST /api/v1/pause HTTP/1.1\r\nHost: localhost\r\nContent-Length: 12\r\n\r\n{\"for\":\"2h\"}")
          .starts_with("HTTP/1.1 403"));
  EXPECT_EQ(site_.paused_zone, -2);
  EXPECT_TRUE(tcp_client().ask("GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n").starts_with("HTTP/1.1 403"));
  EXPECT_TRUE(tcp_client().ask("GET / HTTP/1.0\r\n\r\n").starts_with("HTTP/1.0 403"));
  EXPECT_TRUE(unix_client()
                  .ask("POST /api/v1/pause HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: "
                       "12\r\n\r\n{\"for\":\"2h\"}")
                  .starts_with("HTTP/1.1 200"));
  EXPECT_EQ(on_core([&] { return site_.paused_zone; }), -1);
}

TEST_F(HttpServerTest, one_connection_carries_many_requests_also_pipelined) {
  start();
  Client client = unix_client();
  client.send(get("/healthz", "") + get("/api/v1/site", ""));
  const std::string two = client.receive("\"mode\":\"test\"}");
  EXPECT_NE(two.find("\"stages\""), std::string::npos);
  EXPECT_NE(client.ask(get("/api/v1/zones/4")).find("\"zone\":4"), std::string::npos);
}

TEST_F(HttpServerTest, head_has_no_body) {
  start();
  const std::string answer =
      unix_client().ask("HEAD /api/v1/zones HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
  EXPECT_TRUE(answer.ends_with("\r\n\r\n"));
  EXPECT_EQ(answer.find("Content-Length: 0"), std::string::npos);
}

TEST_F(HttpServerTest, what_is_not_http_or_too_large_is_refused) {
  start();
  EXPECT_TRUE(unix_client().ask("hello\r\n\r\n").starts_with("HTTP/1.1 400"));
  EXPECT_TRUE(unix_client()
                  .ask("POST /api/v1/pause HTTP/1.1\r\nHost: x\r\nContent-Length: 2000000\r\n\r\n")
                  .starts_with("HTTP/1.1 413"));
  EXPECT_TRUE(unix_client()
                  .ask("GET / HTTP/1.1\r\nHost: x\r\nX: " + std::string(20'000, 'x') + "\r\n\r\n")
                  .starts_with("HTTP/1.1 431"));
}

TEST_F(HttpServerTest, slow_headers_bodies_and_idle_connections_are_closed) {
  HttpLimits limits;
  limits.header = limits.body = limits.idle = 200ms;
  start(limits);
  Client silent = unix_client(), half = unix_client(), bodyless = unix_client(), idle = unix_client();
  half.send("GET / HTTP/1.1\r\nHost:");
  bodyless.send("POST /api/v1/pause HTTP/1.1\r\nHost: x\r\nContent-Length: 12\r\n\r\n{");
  idle.send(get("/healthz", ""));
  idle.receive("stages");
  EXPECT_TRUE(becomes(0));
  EXPECT_TRUE(silent.closed_within(5s));
  EXPECT_TRUE(half.closed_within(5s));
  EXPECT_TRUE(bodyless.closed_within(5s));
}

TEST_F(HttpServerTest, hundreds_of_slow_connections_keep_nobody_out_and_leave_nothing) {
  start();
  unix_client().ask(get("/healthz"));
  ASSERT_TRUE(becomes(0));
  const std::size_t before = open_descriptors();
  {
    std::vector<Client> slow;
    for (int i = 0; i < 300; ++i) {
      slow.push_back(i % 2 ? tcp_client() : unix_client());
      slow.back().send("GET / HTTP/1.1\r\n");
    }
    const auto begin = std::chrono::steady_clock::now();
    EXPECT_TRUE(tcp_client().ask(get("/healthz")).starts_with("HTTP/1.1 200"));
    EXPECT_TRUE(unix_client().ask(get("/healthz")).starts_with("HTTP/1.1 200"));
    EXPECT_LT(std::chrono::steady_clock::now() - begin, 5s);
    EXPECT_LE(on_core([&] { return server_->connections(); }), 64u);
    EXPECT_GT(on_core([&] { return server_->refused(); }), 200u);
  }
  EXPECT_TRUE(becomes(0));
  EXPECT_EQ(open_descriptors(), before);
}

TEST_F(HttpServerTest, a_long_answer_streams_while_others_are_served) {
  std::vector<Reading> readings;
  for (int i = 0; i < 100'000; ++i)
    readings.push_back({{ChannelKind::zone_current, 4}, test_now() - Millis{1000LL * (100'000 - i)}, 0.23});
  site_.keep(readings, {});
  start();
  Client slow = unix_client();
  slow.send(get("/api/v1/export?what=readings&format=csv"));  // unread: the socket's buffers fill
  EXPECT_TRUE(unix_client().ask(get("/healthz")).starts_with("HTTP/1.1 200"));
  const std::string answer = slow.receive();
  EXPECT_NE(answer.find("Transfer-Encoding: chunked"), std::string::npos);
  EXPECT_TRUE(answer.ends_with("\r\n0\r\n\r\n"));
  EXPECT_GT(std::count(answer.begin(), answer.end(), '\n'), 100'000);
  const std::string old = unix_client().ask("GET /api/v1/export?what=readings&format=csv HTTP/1.0\r\n\r\n");
  EXPECT_EQ(old.find("chunked"), std::string::npos);
  EXPECT_GT(std::count(old.begin(), old.end(), '\n'), 100'000);
}

TEST_F(HttpServerTest, an_answer_that_comes_after_its_asker_left_is_dropped) {
  start();
  {
    Client client = unix_client();
    client.send(
        "POST /api/v1/test-alert HTTP/1.1\r\nHost: x\r\nContent-Length: 19\r\n\r\n{\"notifier\":\"mail\"}");
    const auto deadline = std::chrono::steady_clock::now() + 10s;
    while (!on_core([&] { return static_cast<bool>(site_.waiting_alert); }))
      ASSERT_LT(std::chrono::steady_clock::now(), deadline);
  }
  on_core([&] { return site_.waiting_alert(), true; });
  EXPECT_TRUE(becomes(0));
}

TEST_F(HttpServerTest, a_second_server_on_the_same_socket_is_a_conflict_and_a_dead_one_is_replaced) {
  {
    const int fd = ::socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un address{AF_UNIX, {}};
    path_.copy(address.sun_path, sizeof address.sun_path - 1);
    ASSERT_EQ(::bind(fd, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    ::close(fd);  // leaves the file, as a killed process does
  }
  start();
  const auto second = HttpServer::start(core_, api_, {path_, std::nullopt, {}});
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().cause, Cause::conflict);
  EXPECT_TRUE(unix_client().ask(get("/healthz")).starts_with("HTTP/1.1 200"));
}

}  // namespace
}  // namespace coilward
