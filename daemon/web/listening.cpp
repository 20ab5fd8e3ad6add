#include "daemon/web/listening.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>

#include "daemon/base/log.h"

namespace coilward {
namespace {

using Local = boost::asio::local::stream_protocol;
using Tcp = boost::asio::ip::tcp;
using ErrorCode = boost::system::error_code;

constexpr std::size_t kLongestPath = 107;  // sockaddr_un.sun_path without its end

bool somebody_answers(boost::asio::io_context& core, const std::string& path) {
  Local::socket probe(core);
  ErrorCode error;
  probe.connect(Local::endpoint(path), error);
  return !error;
}

bool is_socket(const std::string& path) {
  struct stat status = {};
  return ::lstat(path.c_str(), &status) == 0 && S_ISSOCK(status.st_mode);
}

Error failed(const std::string& what, const ErrorCode& error) {
  const bool taken = error == boost::asio::error::address_in_use;
  return {taken ? Cause::conflict : Cause::world,
          fmt::format("cannot listen on {}: {}", what, error.message())};
}

Result<TcpAcceptor> listen_on(boost::asio::io_context& core, const Tcp::endpoint& endpoint) {
  TcpAcceptor acceptor(core);
  ErrorCode error;
  acceptor.open(endpoint.protocol(), error);
  if (!error) acceptor.set_option(boost::asio::socket_base::reuse_address(true), error);
  if (!error) acceptor.bind(endpoint, error);
  if (!error) acceptor.listen(boost::asio::socket_base::max_listen_connections, error);
  if (!error) return acceptor;
  return failed(fmt::format("{} port {}", endpoint.address().to_string(), endpoint.port()), error);
}

}  // namespace

Result<LocalAcceptor> listen_local(boost::asio::io_context& core, const std::string& path) {
  if (path.size() > kLongestPath)
    return Error{Cause::world, fmt::format("cannot listen on {}: a socket's path has at most {} bytes", path,
                                           kLongestPath)};
  if (somebody_answers(core, path))
    return Error{Cause::conflict, fmt::format("another process answers on {}", path)};
  if (is_socket(path)) ::unlink(path.c_str());
  LocalAcceptor acceptor(core);
  ErrorCode error;
  acceptor.open(Local(), error);
  if (!error) acceptor.bind(Local::endpoint(path), error);
  // Nobody can connect before listen(), so there is no moment with a wider mode.
  if (!error && ::chmod(path.c_str(), 0660) != 0) error = ErrorCode(errno, boost::system::system_category());
  if (!error) acceptor.listen(boost::asio::socket_base::max_listen_connections, error);
  if (error) return failed(path, error);
  return acceptor;
}

Result<std::vector<TcpAcceptor>> listen_address(boost::asio::io_context& core, const std::string& address,
                                                std::uint16_t port) {
  ErrorCode error;
  const auto parsed = boost::asio::ip::make_address(address, error);
  if (error) return failed(address, error);
  auto acceptor = listen_on(core, {parsed, port});
  if (!acceptor) return acceptor.error();
  std::vector<TcpAcceptor> acceptors;
  acceptors.push_back(std::move(*acceptor));
  return acceptors;
}

Result<std::vector<TcpAcceptor>> listen_loopback(boost::asio::io_context& core, std::uint16_t port) {
  std::vector<TcpAcceptor> acceptors;
  auto v4 = listen_on(core, {boost::asio::ip::address_v4::loopback(), port});
  if (!v4) return v4.error();
  acceptors.push_back(std::move(*v4));
  if (port == 0) return acceptors;
  auto v6 = listen_on(core, {boost::asio::ip::address_v6::loopback(), port});
  if (v6)
    acceptors.push_back(std::move(*v6));
  else
    log::info("{}; 127.0.0.1 only", v6.error().what);
  return acceptors;
}

}  // namespace coilward
