// Looking a broker up and a plain connection to it, for what Paho does not tell. Internal to this folder.
#pragma once

#include <netdb.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <memory>
#include <utility>

#include "daemon/mqtt/broker_address.h"

namespace coilward {

struct FreeAddresses {
  void operator()(addrinfo* list) const { ::freeaddrinfo(list); }
};
using Addresses = std::unique_ptr<addrinfo, FreeAddresses>;

// Blocks. code: getaddrinfo's, 0 when it found some.
inline Addresses look_up(const BrokerAddress& address, int& code) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* list = nullptr;
  code = ::getaddrinfo(address.host.c_str(), address.port.c_str(), &hints, &list);
  return Addresses(code == 0 ? list : nullptr);
}

class TcpSocket {
 public:
  explicit TcpSocket(int family) : file(::socket(family, SOCK_STREAM | SOCK_CLOEXEC, 0)) {}
  ~TcpSocket() {
    if (file >= 0) ::close(file);
  }
  TcpSocket(const TcpSocket&) = delete;
  TcpSocket& operator=(const TcpSocket&) = delete;

  // On Linux the sending time limit holds for connect() too.
  void limit(std::chrono::milliseconds patience) const {
    const timeval limit{patience.count() / 1000, patience.count() % 1000 * 1000};
    ::setsockopt(file, SOL_SOCKET, SO_SNDTIMEO, &limit, sizeof limit);
    ::setsockopt(file, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
  }
  bool connect(const addrinfo& to) const { return ::connect(file, to.ai_addr, to.ai_addrlen) == 0; }
  int release() { return std::exchange(file, -1); }

  int file;
};

}  // namespace coilward
