#include "daemon/web/http_server.h"

#include <unistd.h>

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <list>

#include "daemon/base/log.h"
#include "daemon/web/http_session.h"
#include "daemon/web/listening.h"
#include "daemon/web/tls_files.h"

namespace coilward {
namespace {

constexpr std::chrono::milliseconds kNoDescriptors{100};  // before another accept when there were none left
constexpr std::chrono::seconds kLookAtCertificate{5};     // own choice: in force within a minute, for sure

// The peer's address; one text for all of IPv4 mapped, empty when it is gone already.
std::string address_of(const asio::ip::tcp::socket& socket) {
  boost::system::error_code error;
  const auto peer = socket.remote_endpoint(error);
  if (error) return "gone";
  const auto address = peer.address();
  if (!address.is_v6() || !address.to_v6().is_v4_mapped()) return address.to_string();
  return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
}
std::string address_of(const asio::local::stream_protocol::socket&) { return {}; }

}  // namespace

class HttpServer::Impl : public std::enable_shared_from_this<HttpServer::Impl> {
 public:
  Impl(asio::io_context& core, RequestHandler& api, HttpOptions options)
      : core_(core), api_(api), options_(std::move(options)), pause_(core), certificate_(core) {}

  Result<bool> listen() {
    if (!options_.socket_path.empty()) {
      auto local = listen_local(core_, options_.socket_path);
      if (!local) return local.error();
      local_.emplace(std::move(*local));
    }
    if (options_.tcp_port) {
      auto tcp = options_.address.empty() ? listen_loopback(core_, *options_.tcp_port)
                                          : listen_address(core_, options_.address, *options_.tcp_port);
      if (!tcp) return tcp.error();
      tcp_ = std::move(*tcp);
    }
    if (local_) accept(*local_);
    for (TcpAcceptor& acceptor : tcp_) accept(acceptor);
    if (options_.tls) look_at_certificate();
    return true;
  }

  void stop() {
    if (std::exchange(stopped_, true)) return;
    boost::system::error_code ignored;
    pause_.cancel();
    certificate_.cancel();
    if (local_) {
      local_->close(ignored);
      ::unlink(options_.socket_path.c_str());
    }
    for (TcpAcceptor& acceptor : tcp_) acceptor.close(ignored);
    for (const auto& session : std::list(sessions_)) session->close();
  }

  std::uint16_t port() const { return tcp_.empty() ? 0 : tcp_.front().local_endpoint().port(); }
  std::size_t connections() const { return sessions_.size(); }
  std::uint64_t requests() const { return requests_; }
  std::uint64_t refused() const { return refused_; }

 private:
  // The acceptor lives in this object, which lives while its accept is under way.
  template <class Acceptor>
  void accept(Acceptor& acceptor) {
    acceptor.async_accept(
        [self = shared_from_this(), &acceptor](boost::system::error_code error, auto socket) {
          if (self->stopped_ || error == asio::error::operation_aborted) return;
          if (error) return self->accept_later(acceptor, error);
          self->admit(std::move(socket));
          self->accept(acceptor);
        });
  }

  template <class Acceptor>
  void accept_later(Acceptor& acceptor, boost::system::error_code error) {
    log::limited(log::Level::warning, "http-accept",
                 "a connection could not be accepted: " + error.message());
    pause_.expires_after(kNoDescriptors);
    pause_.async_wait([self = shared_from_this(), &acceptor](boost::system::error_code) {
      if (!self->stopped_) self->accept(acceptor);
    });
  }

  void look_at_certificate() {
    certificate_.expires_after(kLookAtCertificate);
    certificate_.async_wait([self = shared_from_this()](boost::system::error_code error) {
      if (error || self->stopped_) return;
      self->options_.tls->look();
      self->look_at_certificate();
    });
  }

  // A proxy's connections all come from one address.
  std::size_t most_of(const std::string& address) const {
    return options_.behind_proxy && is_loopback_address(address) ? options_.limits.connections
                                                                 : options_.limits.per_address;
  }
  bool any_host() const {
    return options_.behind_proxy || (!options_.address.empty() && !is_loopback_address(options_.address));
  }

  template <class Socket>
  void admit(Socket socket) {
    std::string address = address_of(socket);
    if (!make_room(address)) {
      ++refused_;
      return;  // the socket closes
    }
    HttpSession::Context context{api_,
                                 options_.limits,
                                 &requests_,
                                 &live_,
                                 any_host(),
                                 options_.behind_proxy,
                                 [this](HttpSession* ended) { remove(ended); }};
    const auto tls = options_.tls && !address.empty() ? options_.tls->context() : nullptr;
    sessions_.push_back(std::make_shared<HttpSession>(HttpSession::Socket(std::move(socket)),
                                                      std::move(address), tls, std::move(context)));
    sessions_.back()->start();
  }

  // At a ceiling the oldest connection that has not said a whole request gives way: slow ones never keep
  // quick ones out.
  bool make_room(const std::string& address) {
    const auto same = [&](const auto& s) { return s->address() == address && !s->live(); };
    const auto of_address = std::count_if(sessions_.begin(), sessions_.end(), same);
    if (!address.empty() && static_cast<std::size_t>(of_address) >= most_of(address))
      return close_oldest([&](const auto& s) { return s->waiting() && same(s); });
    if (sessions_.size() < options_.limits.connections) return true;
    return close_oldest([](const auto& s) { return s->waiting(); });
  }

  template <class Which>
  bool close_oldest(Which which) {
    const auto it = std::find_if(sessions_.begin(), sessions_.end(), which);
    if (it == sessions_.end()) return false;
    ++refused_;
    std::shared_ptr<HttpSession>(*it)->close();
    return true;
  }

  void remove(HttpSession* ended) {
    sessions_.remove_if([ended](const auto& session) { return session.get() == ended; });
  }

  asio::io_context& core_;
  RequestHandler& api_;
  const HttpOptions options_;
  std::optional<LocalAcceptor> local_;
  std::vector<TcpAcceptor> tcp_;
  asio::steady_timer pause_, certificate_;
  std::list<std::shared_ptr<HttpSession>> sessions_;
  std::uint64_t requests_ = 0, refused_ = 0;
  std::size_t live_ = 0;
  bool stopped_ = false;
};

Result<std::unique_ptr<HttpServer>> HttpServer::start(asio::io_context& core, RequestHandler& api,
                                                      HttpOptions options) {
  auto impl = std::make_shared<Impl>(core, api, std::move(options));
  const auto listening = impl->listen();
  if (!listening) return listening.error();
  return std::unique_ptr<HttpServer>(new HttpServer(std::move(impl)));
}

HttpServer::HttpServer(std::shared_ptr<Impl> impl) : impl_(std::move(impl)) {}
HttpServer::~HttpServer() { stop(); }
void HttpServer::stop() { impl_->stop(); }
std::uint16_t HttpServer::port() const { return impl_->port(); }
std::size_t HttpServer::connections() const { return impl_->connections(); }
std::uint64_t HttpServer::requests() const { return impl_->requests(); }
std::uint64_t HttpServer::refused() const { return impl_->refused(); }

}  // namespace coilward
