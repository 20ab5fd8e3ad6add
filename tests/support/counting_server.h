// A web server that answers 200 to whoever asks, and counts those who ask for one path.
#pragma once

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <string>
#include <thread>

namespace coilward {

class CountingServer {
 public:
  explicit CountingServer(std::string path)
      : path_(std::move(path)), socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    EXPECT_EQ(::bind(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    EXPECT_EQ(::listen(socket_, 8), 0);
    socklen_t size = sizeof address;
    ::getsockname(socket_, reinterpret_cast<sockaddr*>(&address), &size);
    port_ = ntohs(address.sin_port);
    thread_ = std::thread([this] { serve(); });
  }
  ~CountingServer() {
    ::shutdown(socket_, SHUT_RDWR);
    thread_.join();
    ::close(socket_);
  }
  CountingServer(const CountingServer&) = delete;
  CountingServer& operator=(const CountingServer&) = delete;

  std::string url() const { return "http://127.0.0.1:" + std::to_string(port_) + path_; }
  int asked() const { return asked_; }

 private:
  void serve() {
    for (int peer; (peer = ::accept(socket_, nullptr, nullptr)) >= 0; ::close(peer)) {
      char request[2048] = {};
      if (::recv(peer, request, sizeof request - 1, 0) > 0 &&
          std::string(request).starts_with("GET " + path_ + " "))
        ++asked_;
      const std::string answer = "HTTP/1.1 200 OK\r\nContent-Length: 2\r\nConnection: close\r\n\r\nok";
      ::send(peer, answer.data(), answer.size(), MSG_NOSIGNAL);
    }
  }
  const std::string path_;
  int socket_;
  int port_ = 0;
  std::atomic<int> asked_{0};
  std::thread thread_;
};

}  // namespace coilward
