// Making listening sockets. The folder's own header: only files that already pay for Asio include it.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <string>
#include <vector>

#include "daemon/base/result.h"

namespace coilward {

using LocalAcceptor = boost::asio::local::stream_protocol::acceptor;
using TcpAcceptor = boost::asio::ip::tcp::acceptor;

// Mode 0660. A file left by a process that is gone is replaced; conflict: somebody answers there.
Result<LocalAcceptor> listen_local(boost::asio::io_context& core, const std::string& path);
// On this address alone; "::" takes IPv4 too.
Result<std::vector<TcpAcceptor>> listen_address(boost::asio::io_context& core, const std::string& address,
                                                std::uint16_t port);
// On 127.0.0.1 and, where the machine has it, on ::1. Port 0: any free one, on 127.0.0.1 only.
Result<std::vector<TcpAcceptor>> listen_loopback(boost::asio::io_context& core, std::uint16_t port);

}  // namespace coilward
