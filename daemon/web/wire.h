// A connection's bytes: plain, or through TLS on top of that. What Beast and Asio read and write does not
// know which. The folder's own header: only files that already pay for Beast include it. Thread: the core's.
#pragma once

#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <boost/beast/core/detect_ssl.hpp>
#include <chrono>
#include <memory>
#include <optional>
#include <utility>

namespace coilward {

class Wire {
 public:
  using Socket = boost::asio::generic::stream_protocol::socket;
  using Plain = boost::beast::basic_stream<boost::asio::generic::stream_protocol>;
  using executor_type = Plain::executor_type;

  // tls: nullptr for none; kept for as long as the connection, whatever is loaded meanwhile.
  Wire(Socket socket, std::shared_ptr<boost::asio::ssl::context> tls)
      : plain_(std::move(socket)), context_(std::move(tls)) {}

  executor_type get_executor() { return plain_.get_executor(); }
  auto& socket() { return plain_.socket(); }
  void expires_after(std::chrono::milliseconds limit) { plain_.expires_after(limit); }
  void expires_never() { plain_.expires_never(); }
  bool wants_tls() const { return context_ != nullptr; }
  // Only after the greeting: a client may have begun without.
  bool encrypted() const { return tls_.has_value(); }

  template <class Buffers, class Handler>
  auto async_read_some(const Buffers& buffers, Handler&& handler) {
    if (tls_) return tls_->async_read_some(buffers, std::forward<Handler>(handler));
    return plain_.async_read_some(buffers, std::forward<Handler>(handler));
  }
  template <class Buffers, class Handler>
  auto async_write_some(const Buffers& buffers, Handler&& handler) {
    if (tls_) return tls_->async_write_some(buffers, std::forward<Handler>(handler));
    return plain_.async_write_some(buffers, std::forward<Handler>(handler));
  }
  // Where TLS is wanted: agrees on it, unless the client begins with something else, which stays in `buffer`
  // as it came (and encrypted() false).
  template <class Buffer, class Handler>
  void async_greet(Buffer& buffer, Handler handler) {
    boost::beast::async_detect_ssl(
        plain_, buffer, [this, &buffer, handler](boost::system::error_code error, bool client_speaks_tls) {
          if (error || !client_speaks_tls) return handler(error);
          tls_.emplace(plain_, *context_);
          tls_->async_handshake(boost::asio::ssl::stream_base::server, buffer.data(),
                                [&buffer, handler](boost::system::error_code failed, std::size_t used) {
                                  buffer.consume(used);
                                  handler(failed);
                                });
        });
  }
  // Tells the other side that nothing follows, so that an end is not taken for a cut. With TLS alone.
  template <class Handler>
  void async_farewell(Handler&& handler) {
    tls_->async_shutdown(std::forward<Handler>(handler));
  }

 private:
  Plain plain_;
  std::shared_ptr<boost::asio::ssl::context> context_;
  std::optional<boost::asio::ssl::stream<Plain&>> tls_;
};

}  // namespace coilward
