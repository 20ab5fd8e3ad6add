#include "daemon/mqtt/link_witness.h"

#include <poll.h>

#include "daemon/mqtt/tcp_socket.h"

namespace coilward {

std::unique_ptr<LinkWitness> LinkWitness::open(const BrokerAddress& address,
                                               std::chrono::milliseconds patience) {
  int code = 0;
  const Addresses addresses = look_up(address, code);
  for (const addrinfo* to = addresses.get(); to != nullptr; to = to->ai_next) {
    TcpSocket socket(to->ai_family);
    socket.limit(patience);
    if (socket.connect(*to)) return std::unique_ptr<LinkWitness>(new LinkWitness(socket.release()));
  }
  return nullptr;
}

LinkWitness::~LinkWitness() { ::close(socket_); }

bool LinkWitness::stands(std::chrono::milliseconds within) const {
  pollfd watched{socket_, POLLIN | POLLRDHUP, 0};
  return ::poll(&watched, 1, static_cast<int>(within.count())) == 0;
}

}  // namespace coilward
