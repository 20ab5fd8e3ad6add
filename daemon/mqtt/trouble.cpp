#include "daemon/mqtt/trouble.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>

#include "daemon/mqtt/tcp_socket.h"
#include "daemon/mqtt/tls_handshake.h"

namespace coilward {
namespace {

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

Diagnosed answer_trouble(const TcpSocket& socket, const BrokerAddress& address, const std::string& ca_file) {
  if (!address.tls) {
    return {Trouble::silent, fmt::format("{} accepts connections but does not answer MQTT", address.text())};
  }
  const std::string why = why_no_tls(socket.file, address, ca_file);
  if (why.empty())
    return {Trouble::silent, fmt::format("{} speaks TLS but does not answer MQTT", address.text())};
  return {Trouble::tls, fmt::format("no TLS session with {}: {}", address.text(), why)};
}

Diagnosed try_address(const addrinfo& to, const BrokerAddress& address, const std::string& ca_file,
                      std::chrono::milliseconds patience) {
  const TcpSocket socket(to.ai_family);
  socket.limit(patience);
  if (socket.connect(to)) return answer_trouble(socket, address, ca_file);
  return connect_trouble(address, errno == EINPROGRESS ? ETIMEDOUT : errno);
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

Diagnosed diagnose_silence(const BrokerAddress& address, const std::string& ca_file,
                           std::chrono::milliseconds patience) {
  int code = 0;
  const Addresses addresses = look_up(address, code);
  if (code != 0) return name_trouble(address, code);
  Diagnosed found;
  for (const addrinfo* to = addresses.get(); to != nullptr;
       to = to->ai_next) {  // IPv6 and IPv4: one that answers is enough
    found = try_address(*to, address, ca_file, patience);
    if (found.trouble != Trouble::refused && found.trouble != Trouble::unreachable) break;
  }
  return found;
}

}  // namespace coilward
