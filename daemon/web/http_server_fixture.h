// A real server on a thread of its own, and a plain socket that speaks to it. For the tests of this folder.
#pragma once

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <filesystem>
#include <future>
#include <thread>

#include "daemon/login/login_test_kit.h"
#include "daemon/web/api.h"
#include "daemon/web/http_server.h"
#include "daemon/web/web_test_site.h"

namespace coilward {

// A plain socket that speaks what it is told.
class Client {
 public:
  explicit Client(const std::string& path) : fd_(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_un address{AF_UNIX, {}};
    path.copy(address.sun_path, sizeof address.sun_path - 1);
    EXPECT_EQ(::connect(fd_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
  }
  explicit Client(std::uint16_t port) : fd_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{AF_INET, htons(port), {htonl(INADDR_LOOPBACK)}, {}};
    EXPECT_EQ(::connect(fd_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
  }
  Client(Client&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
  ~Client() {
    if (fd_ >= 0) ::close(fd_);
  }

  void send(std::string_view text) { (void)!::send(fd_, text.data(), text.size(), MSG_NOSIGNAL); }
  // What comes until the other side closes, `stop` was seen, or 10 s are over.
  std::string receive(std::string_view stop = "\x01never") {
    std::string text;
    pollfd ready{fd_, POLLIN, 0};
    char block[65536];
    while (text.find(stop) == std::string::npos && ::poll(&ready, 1, 10'000) > 0) {
      const ssize_t n = ::recv(fd_, block, sizeof block, 0);
      if (n <= 0) break;
      text.append(block, static_cast<std::size_t>(n));
    }
    return text;
  }
  std::string ask(std::string_view request) {
    send(request);
    return receive();
  }
  bool closed_within(std::chrono::milliseconds limit) {
    pollfd ready{fd_, POLLIN, 0};
    char byte = 0;
    return ::poll(&ready, 1, static_cast<int>(limit.count())) > 0 && ::recv(fd_, &byte, 1, 0) <= 0;
  }

 private:
  int fd_;
};

inline std::string get(const std::string& target, const std::string& more = "Connection: close\r\n") {
  return "GET " + target + " HTTP/1.1\r\nHost: localhost\r\n" + more + "\r\n";
}

class HttpServerTest : public ::testing::Test {
 protected:
  void start(HttpLimits limits = {}) { start(HttpOptions{path_, std::uint16_t{0}, limits}); }
  void start(HttpOptions options) {
    options.socket_path = path_;
    options.tcp_port = std::uint16_t{0};
    auto started = HttpServer::start(core_, api_, std::move(options));
    ASSERT_TRUE(started) << started.error().what;
    server_ = std::move(*started);
    thread_ = std::thread([this] { core_.run(); });
  }
  // On the core thread, where the server belongs.
  template <class Do>
  auto on_core(Do action) {
    std::packaged_task<decltype(action())()> task(std::move(action));
    auto result = task.get_future();
    boost::asio::post(core_, [&task] { task(); });
    return result.get();
  }
  bool becomes(std::size_t connections) {
    const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds{10};
    while (std::chrono::steady_clock::now() < deadline) {
      if (on_core([&] { return server_->connections(); }) == connections) return true;
      std::this_thread::yield();
    }
    return false;
  }
  void TearDown() override {
    if (!thread_.joinable()) return;
    on_core([&] { return server_->stop(), true; });
    work_.reset();
    thread_.join();  // hangs if a connection survives stop()
    EXPECT_FALSE(std::filesystem::exists(path_));
  }
  Client unix_client() { return Client(path_); }
  Client tcp_client() { return Client(server_->port()); }

  WebTestSite site_;
  LoginTestKit logins_;
  Api api_{site_, logins_.logins.get()};
  boost::asio::io_context core_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{core_.get_executor()};
  std::string path_ = site_.directory / "coilward.sock";
  std::unique_ptr<HttpServer> server_;
  std::thread thread_;
};

}  // namespace coilward
