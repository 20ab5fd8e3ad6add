#include "tests/support/tcp_proxy.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <stdexcept>
#include <vector>

#include "tests/support/broker.h"

namespace coilward {
namespace {

constexpr int kTickMs = 5;
using Steady = std::chrono::steady_clock;

void reset(int fd) {
  const linger now{1, 0};
  ::setsockopt(fd, SOL_SOCKET, SO_LINGER, &now, sizeof now);
  ::close(fd);
}

}  // namespace

struct TcpProxy::Connection {
  int client = -1, server = -1;
  bool client_done = false, server_done = false, broken = false;
  Steady::time_point next[2] = {};  // when each way may pass something again
};

TcpProxy::TcpProxy(int target_port) : target_(target_port), port_(free_port()) {
  listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  const int yes = 1;
  ::setsockopt(listener_, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  const sockaddr_in address = loopback_address(port_);
  if (::bind(listener_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0 ||
      ::listen(listener_, 64) != 0)
    throw std::runtime_error("the proxy cannot listen");
  thread_ = std::jthread([this](std::stop_token stop) { work(std::move(stop)); });
}

TcpProxy::~TcpProxy() {
  thread_.request_stop();
  thread_.join();
  for (const Connection& each : connections_) reset(each.client), reset(each.server);
  ::close(listener_);
}

void TcpProxy::cut() {
  cut_ = true;
  while (cut_) std::this_thread::yield();
}

void TcpProxy::half_close() {
  half_close_ = true;
  while (half_close_) std::this_thread::yield();
}

void TcpProxy::work(std::stop_token stop) {
  while (!stop.stop_requested()) {
    std::vector<pollfd> ready{{listener_, POLLIN, 0}};
    for (const Connection& each : connections_)
      if (!stalled_) {
        ready.push_back({each.client, static_cast<short>(each.client_done ? 0 : POLLIN), 0});
        ready.push_back({each.server, static_cast<short>(each.server_done ? 0 : POLLIN), 0});
      }
    ::poll(ready.data(), ready.size(), kTickMs);
    take_new();
    for (Connection& each : connections_) {
      if (half_close_ && !each.server_done) each.server_done = true, ::shutdown(each.client, SHUT_WR);
      if (!stalled_) pass(each);
      if (cut_) each.broken = true;
      if (each.broken) reset(each.client), reset(each.server);
    }
    connections_.remove_if([](const Connection& each) { return each.broken; });
    cut_ = half_close_ = false;
  }
}

void TcpProxy::take_new() {
  const int client = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC | SOCK_NONBLOCK);
  if (client < 0) return;
  const int server = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_in address = loopback_address(target_);
  if (::connect(server, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    reset(client);
    ::close(server);
    return;
  }
  ++accepted_;
  connections_.push_back({client, server});
}

void TcpProxy::pass(Connection& connection) {
  if (!connection.client_done && !forward(connection, true)) connection.client_done = true;
  if (!connection.server_done && !forward(connection, false)) connection.server_done = true;
  if (connection.client_done && connection.server_done) connection.broken = true;
}

// False: that side has ended.
bool TcpProxy::forward(Connection& connection, bool from_client) {
  const int from = from_client ? connection.client : connection.server;
  const int to = from_client ? connection.server : connection.client;
  auto& next = connection.next[from_client];
  if (Steady::now() < next) return true;
  char block[16384];
  const int rate = rate_;
  const std::size_t most =
      rate > 0 ? static_cast<std::size_t>(std::max(1, rate * 2 * kTickMs / 1000)) : sizeof block;
  const ssize_t size = ::recv(from, block, std::min(most, sizeof block), MSG_DONTWAIT);
  if (size < 0) return errno == EAGAIN || errno == EINTR;
  if (size == 0) return ::shutdown(to, SHUT_WR), false;
  if (rate > 0) next = Steady::now() + std::chrono::milliseconds(size * 1000 / rate);
  if (from_client && lose_requests_) return lost_ += static_cast<std::uint64_t>(size), true;
  for (ssize_t sent = 0; sent < size;) {
    const ssize_t some = ::send(to, block + sent, static_cast<std::size_t>(size - sent), MSG_NOSIGNAL);
    if (some < 0 && errno != EAGAIN && errno != EINTR) return connection.broken = true, false;
    if (some > 0) sent += some;
  }
  return true;
}

}  // namespace coilward
