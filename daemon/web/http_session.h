// One connection: reads requests one after the other, asks the API, writes the answers. The folder's own
// header: only files that already pay for Beast include it.
#pragma once

#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "daemon/web/gzip.h"
#include "daemon/web/http_request.h"
#include "daemon/web/http_server.h"
#include "daemon/web/wire.h"

namespace coilward {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;

// Thread: the core's. Lives as long as an operation of its own is under way.
class HttpSession : public std::enable_shared_from_this<HttpSession> {
 public:
  using Socket = Wire::Socket;
  using Tls = std::shared_ptr<asio::ssl::context>;
  struct Context {
    RequestHandler& api;
    HttpLimits limits;
    std::uint64_t* requests;
    std::size_t* live;  // answers without an end that are under way
    bool any_host;      // as RequestHead
    bool behind_proxy;  // what a peer on a loopback address says of whom it asks for is believed
    std::function<void(HttpSession*)> on_end;
  };

  // address: empty on the Unix socket. tls: nullptr for none.
  HttpSession(Socket socket, std::string address, Tls tls, Context context);
  void start();
  // Ends at once; what is under way is cut. Calls on_end unless it was called.
  void close();

  const std::string& address() const { return address_; }
  // No whole request is in hand: it may be closed for the sake of another.
  bool waiting() const { return waiting_; }
  // Its answer has no end.
  bool live() const { return static_cast<bool>(live_); }

 private:
  using Error = beast::error_code;
  void wait_for_request();
  void read_header();
  void on_header(Error error);
  void read_body();
  void on_body(Error error);
  void refuse_unread(Error error);
  RequestHead head() const;
  std::size_t largest_body() const;
  std::size_t body_limit() const;
  Asker asker() const;
  void ask();
  void answer(ApiResponse response);
  void answer_whole(const ApiResponse& response);
  void answer_in_pieces(const ApiResponse& response);
  void write_piece();
  void write_text(std::string text, bool last);
  void on_answered(Error error);
  void answer_live(ApiResponse response);
  void watch_peer();
  void write_live();
  void wait_live();
  void end_live();
  void part();
  void linger();
  void drain();
  template <class Body>
  void set_fields(http::response<Body>& message, const ApiResponse& response) const;

  Wire stream_;
  const std::string address_;
  Context context_;
  beast::flat_buffer buffer_;
  std::optional<http::request_parser<http::string_body>> parser_;
  http::response<http::string_body> whole_;
  http::response<http::empty_body> opening_;
  std::optional<http::response_serializer<http::empty_body>> opening_writer_;
  BodyPieces pieces_;
  std::string piece_;
  bool may_pack_ = false;  // this answer is long enough for gzip,
  bool packed_ = false;    // and is packed
  std::optional<Gzip> packer_;
  LiveText live_;
  std::function<bool()> welcome_;
  std::chrono::milliseconds live_step_{1000};
  int quiet_ = 0;  // rounds without a word
  asio::steady_timer live_pause_;
  bool chunked_ = false;
  bool keep_ = false;  // the connection goes on after this answer
  bool head_only_ = false;
  bool unread_ = false;  // refused before all of it was read
  bool waiting_ = true;
  bool ended_ = false;
  bool greeted_ = false;    // TLS is agreed on
  std::uint64_t turn_ = 0;  // counts requests, so that a late answer finds its own only
};

}  // namespace coilward
