#include "daemon/mqtt/trouble.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <memory>

namespace coilward {
namespace {

struct FreeAddresses {
  void operator()(addrinfo* list) const { ::freeaddrinfo(list); }
};
using Addresses = std::unique_ptr<addrinfo, FreeAddresses>;

// The error of a connect started without waiting: 0 connected, ETIMEDOUT no answer in time.
int wait_connected(int socket, std::chrono::milliseconds patience) {
  pollfd wanted{socket, POLLOUT, 0};
  if (::poll(&wanted, 1, static_cast<int>(patience.count())) <= 0) return ETIMEDOUT;
  int error = 0;
  socklen_t size = sizeof error;
  ::getsockopt(socket, SOL_SOCKET, SO_ERROR, &error, &size);
  return error;
}

int try_connect(const addrinfo& to, std::chrono::milliseconds patience) {
  const int socket = ::socket(to.ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
  if (socket < 0) return errno;
  int error = ::connect(socket, to.ai_addr, to.ai_addrlen) == 0 ? 0 : errno;
  if (error == EINPROGRESS) error = wait_connected(socket, patience);
  ::close(socket);
  return error;
}

// A name may stand for several addresses (IPv6 and IPv4); one that answers is enough.
int try_any(const addrinfo& first, std::chrono::milliseconds patience) {
  int error = 0;
  for (const addrinfo* to = &first; to != nullptr; to = to->ai_next) {
    error = try_connect(*to, patience);
    if (error == 0) break;
  }
  return error;
}

Diagnosed name_trouble(const BrokerAddress& address, int code) {
  return {Trouble::unknown_name,
          fmt::format("the name {} cannot be resolved: {}", address.host, ::gai_strerror(code))};
}

Diagnosed connect_trouble(const BrokerAddress& address, int error) {
  if (error == ECONNREFUSED) {
    return {Trouble::refused, fmt::format("nothing listens at {}: connection refused", address.text())};
  }
  return {Trouble::unreachable, fmt::format("no answer from {}: {}", address.text(), std::strerror(error))};
}

Diagnosed answer_trouble(const BrokerAddress& address, std::string_view tls_words) {
  if (address.tls) {
    return {Trouble::tls,
            fmt::format("no TLS session with {}: {}", address.text(),
                        tls_words.empty() ? "certificate not accepted, or not a TLS port" : tls_words)};
  }
  return {Trouble::silent, fmt::format("{} accepts connections but does not answer MQTT", address.text())};
}

}  // namespace

std::string_view trouble_name(Trouble trouble) {
  constexpr std::string_view kNames[] = {"none",   "unknown_name", "unreachable", "refused",  "tls",
                                         "silent", "bad_login",    "rejected",    "bad_file", "lost"};
  return kNames[static_cast<std::size_t>(trouble)];
}

Diagnosed diagnose_refusal(int code) {
  switch (code) {
    case 4:
    case 5:
    case 0x86:
    case 0x87:
      return {Trouble::bad_login, "the broker refuses the login: user name or password is wrong, or missing"};
    case 1:
    case 0x84:
      return {Trouble::rejected, "the broker does not speak this MQTT version: set mqtt.version"};
    case 2:
    case 0x85:
      return {Trouble::rejected, "the broker refuses the client id"};
    case 3:
    case 0x88:
      return {Trouble::rejected, "the broker says that it is not available now"};
    default:
      return {Trouble::rejected, fmt::format("the broker refuses the connection with code {}", code)};
  }
}

Diagnosed diagnose_silence(const BrokerAddress& address, std::string_view tls_words,
                           std::chrono::milliseconds patience) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* list = nullptr;
  const int code = ::getaddrinfo(address.host.c_str(), address.port.c_str(), &hints, &list);
  if (code != 0) return name_trouble(address, code);
  const Addresses addresses(list);
  const int error = try_any(*list, patience);
  return error == 0 ? answer_trouble(address, tls_words) : connect_trouble(address, error);
}

}  // namespace coilward
