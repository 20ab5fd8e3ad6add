#include "daemon/web/http_session.h"

#include <boost/asio/post.hpp>
#include <boost/asio/write.hpp>

#include "daemon/base/log.h"

namespace coilward {
namespace {

constexpr std::chrono::seconds kLinger{1};
constexpr std::size_t kWorthPacking = 600;  // bytes: below, a packet is a packet

}  // namespace

HttpSession::HttpSession(Socket socket, std::string address, Tls tls, Context context)
    : stream_(std::move(socket), std::move(tls)),
      address_(std::move(address)),
      context_(std::move(context)),
      live_pause_(stream_.get_executor()) {
  buffer_.max_size(context_.limits.header_bytes + largest_body());
}

std::size_t HttpSession::largest_body() const {
  return std::max(context_.limits.body_bytes, Api::largest_body_bytes());
}

// Known once the header is: the parser itself has to be told the largest one before it has read that.
std::size_t HttpSession::body_limit() const {
  const auto request = request_of(head());
  return std::max(context_.limits.body_bytes, request ? Api::body_bytes(request->method, request->path) : 0);
}

// The first request's header must come within its limit from the start, what TLS says before it included.
void HttpSession::start() {
  stream_.expires_after(context_.limits.header);
  if (!stream_.wants_tls()) return read_header();
  stream_.async_greet(buffer_, [self = shared_from_this()](Error error) {
    if (error || self->ended_) return self->close();
    self->greeted_ = self->stream_.encrypted();
    self->read_header();
  });
}

void HttpSession::close() {
  if (std::exchange(ended_, true)) return;
  Error ignored;
  stream_.socket().shutdown(Socket::shutdown_both, ignored);
  stream_.socket().close(ignored);
  end_live();
  context_.on_end(this);
}

// Between requests: the idle limit until the first byte, then the header's.
void HttpSession::wait_for_request() {
  waiting_ = true;
  stream_.expires_after(context_.limits.idle);
  if (buffer_.size() > 0) {
    stream_.expires_after(context_.limits.header);
    return read_header();
  }
  stream_.async_read_some(buffer_.prepare(4096), [self = shared_from_this()](Error error, std::size_t bytes) {
    if (error || self->ended_) return self->close();
    self->buffer_.commit(bytes);
    self->stream_.expires_after(self->context_.limits.header);
    self->read_header();
  });
}

void HttpSession::read_header() {
  parser_.emplace();
  parser_->header_limit(static_cast<std::uint32_t>(context_.limits.header_bytes));
  parser_->body_limit(largest_body());
  http::async_read_header(stream_, buffer_, *parser_,
                          [self = shared_from_this()](Error error, std::size_t) { self->on_header(error); });
}

void HttpSession::on_header(Error error) {
  if (ended_) return;
  if (error) return refuse_unread(error);
  keep_ = parser_->keep_alive();
  head_only_ = parser_->get().method() == http::verb::head;
  const bool without_tls = stream_.wants_tls() && !stream_.encrypted();
  if (auto refusal = without_tls ? std::optional(ask_over_tls(head())) : refused(head())) {
    keep_ = false;
    unread_ = true;
    return answer(std::move(*refusal));
  }
  const std::size_t most = body_limit();
  if (parser_->content_length().value_or(0) > most) return refuse_unread(http::error::body_limit);
  parser_->body_limit(most);
  stream_.expires_after(context_.limits.body);
  http::async_read(stream_, buffer_, *parser_,
                   [self = shared_from_this()](Error e, std::size_t) { self->on_body(e); });
}

void HttpSession::on_body(Error error) {
  if (ended_) return;
  if (error) return refuse_unread(error);
  waiting_ = false;
  ask();
}

// What came was not HTTP, or too much of it. A client that went away or was too slow gets nothing.
void HttpSession::refuse_unread(Error error) {
  const bool ours = error.category() == make_error_code(http::error::bad_method).category();
  if (!ours || error == http::error::end_of_stream || error == http::error::partial_message) return close();
  keep_ = false;
  unread_ = true;
  if (error == http::error::body_limit)
    return answer(problem(413, "Too large", "the body is larger than allowed"));
  if (error == http::error::header_limit || error == http::error::buffer_overflow)
    return answer(problem(431, "Too large", "the header is larger than allowed"));
  answer(problem(400, "The request is wrong", "not HTTP: " + error.message()));
}

RequestHead HttpSession::head() const {
  const auto& message = parser_->get();
  const auto text = [](const auto& view) { return std::string_view(view.data(), view.size()); };
  return {text(message.method_string()),
          text(message.target()),
          text(message[http::field::host]),
          !address_.empty(),
          text(message[http::field::origin]),
          text(message["Sec-Fetch-Site"]),
          context_.any_host};
}

// Of several fields of one name a proxy's own is the last.
Asker HttpSession::asker() const {
  const auto& message = parser_->get();
  const auto last = [&](std::string_view name) {
    const auto [from, to] = message.equal_range({name.data(), name.size()});
    return from == to ? std::string() : std::string(std::prev(to)->value());
  };
  Asker asker{address_.empty(),        address_,       last("Host"),
              stream_.encrypted(),     last("Cookie"), last("Authorization"),
              last("X-Coilward-Token")};
  if (!context_.behind_proxy || !is_loopback_address(address_)) return asker;
  if (const std::string from = forwarded_address(last("X-Forwarded-For")); !from.empty())
    asker.address = from;
  asker.secure = asker.secure || last("X-Forwarded-Proto") == "https";
  return asker;
}

void HttpSession::ask() {
  ++*context_.requests;
  stream_.expires_never();
  auto request = request_of(head());
  if (!request) return answer(problem(request.error()));
  request->asker = asker();
  request->body = std::move(parser_->get().body());
  request->content_type = std::string(parser_->get()[http::field::content_type]);
  // The API may answer within the call or much later, when this connection may be gone or at another request.
  context_.api.handle(*request, [weak = weak_from_this(), turn = turn_](ApiResponse response) {
    const auto self = weak.lock();
    if (self && !self->ended_ && self->turn_ == turn) self->answer(std::move(response));
  });
}

void HttpSession::answer(ApiResponse response) {
  waiting_ = false;
  stream_.expires_after(context_.limits.send);
  may_pack_ = response.pieces || response.body.size() >= kWorthPacking;
  packed_ = may_pack_ && takes_gzip(parser_->get()[http::field::accept_encoding]);
  pieces_ = std::move(response.pieces);
  if (response.live)
    answer_live(std::move(response));
  else if (pieces_)
    answer_in_pieces(response);
  else
    answer_whole(response);
}

template <class Body>
void HttpSession::set_fields(http::response<Body>& message, const ApiResponse& response) const {
  message.version(parser_->get().version() == 10 ? 10 : 11);
  message.result(static_cast<unsigned>(response.status));
  message.keep_alive(keep_);
  message.set(http::field::content_type, response.content_type);
  message.set(http::field::cache_control, response.cache.empty() ? "no-store" : response.cache);
  message.set("X-Content-Type-Options", "nosniff");
  message.set("X-Frame-Options", "DENY");
  message.set("Referrer-Policy", "same-origin");  // without any, a browser would not say where a form is from
  message.set("Cross-Origin-Resource-Policy", "same-origin");
  message.set("Content-Security-Policy",
              "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
              "worker-src 'self'; manifest-src 'self'; "
              "base-uri 'none'; form-action 'self'; frame-ancestors 'none'");
  if (!response.allow.empty()) message.set(http::field::allow, response.allow);
  if (!response.location.empty()) message.set(http::field::location, response.location);
  for (const auto& [name, value] : response.fields) message.insert(name, value);
  if (may_pack_) message.set(http::field::vary, "Accept-Encoding");
  if (packed_) message.set(http::field::content_encoding, "gzip");
  if (!response.file_name.empty())
    message.set(http::field::content_disposition, "attachment; filename=\"" + response.file_name + "\"");
}

void HttpSession::answer_whole(const ApiResponse& response) {
  whole_ = {};
  set_fields(whole_, response);
  std::string body = packed_ ? gzip(response.body) : response.body;
  whole_.content_length(body.size());
  if (!head_only_) whole_.body() = std::move(body);
  http::async_write(stream_, whole_,
                    [self = shared_from_this()](Error error, std::size_t) { self->on_answered(error); });
}

// Without HTTP/1.1's chunks the end of the connection is the end of the answer.
void HttpSession::answer_in_pieces(const ApiResponse& response) {
  opening_ = {};
  chunked_ = parser_->get().version() >= 11;
  if (!chunked_) keep_ = false;
  set_fields(opening_, response);
  opening_.chunked(chunked_);
  if (packed_) packer_.emplace();
  opening_writer_.emplace(opening_);
  http::async_write_header(stream_, *opening_writer_, [self = shared_from_this()](Error error, std::size_t) {
    if (error || self->head_only_) return self->on_answered(error);
    self->write_piece();
  });
}

// Each piece is made on the core thread and then written: others have their turn in between.
void HttpSession::write_piece() {
  if (ended_) return;
  auto piece = pieces_();
  if (!piece) {
    log::limited(log::Level::error, "http-piece", "an answer was cut: " + piece.error().what);
    return close();
  }
  const bool last = piece->empty();
  if (packer_) *piece = last ? packer_->finish() : packer_->add(*piece);
  if (!chunked_) return last && piece->empty() ? on_answered({}) : write_text(std::move(*piece), last);
  std::string framed;
  if (!piece->empty()) framed = fmt::format("{:x}\r\n", piece->size()) + *piece + "\r\n";
  if (last) framed += "0\r\n\r\n";
  write_text(std::move(framed), last);
}

void HttpSession::write_text(std::string text, bool last) {
  piece_ = std::move(text);
  stream_.expires_after(context_.limits.send);
  asio::async_write(stream_, asio::buffer(piece_),
                    [self = shared_from_this(), last](Error error, std::size_t) {
                      if (error || last) return self->on_answered(error);
                      self->write_piece();
                    });
}

void HttpSession::on_answered(Error error) {
  pieces_ = nullptr;
  packer_.reset();
  ++turn_;
  if (ended_) return;
  if (!error && unread_ && !stream_.encrypted()) return linger();
  if (error) return close();
  if (!keep_) return part();
  wait_for_request();
}

// The end, said the way TLS wants it said.
void HttpSession::part() {
  if (ended_ || !greeted_) return close();
  waiting_ = true;
  stream_.expires_after(kLinger);
  stream_.async_farewell([self = shared_from_this()](Error) { self->close(); });
}

// Closing with something unread would reset the connection, and the refusal might never be seen: what still
// comes is read and forgotten, for a moment.
void HttpSession::linger() {
  waiting_ = true;
  Error ignored;
  stream_.socket().shutdown(Socket::shutdown_send, ignored);
  stream_.expires_after(kLinger);
  drain();
}

void HttpSession::drain() {
  buffer_.clear();
  stream_.async_read_some(buffer_.prepare(16384), [self = shared_from_this()](Error error, std::size_t) {
    if (error || self->ended_) return self->close();
    self->drain();
  });
}

}  // namespace coilward
