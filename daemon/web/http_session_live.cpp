// Answers without an end: what is new is asked for once a second (or as the answer wants) and sent, until the
// asker goes or the server stops. The end of the connection is the end of the answer, so that a stop is a
// whole answer to the other side.
#include <boost/asio/write.hpp>

#include "daemon/web/http_session.h"

namespace coilward {
namespace {

constexpr int kQuietRounds = 15;  // then a comment, so that a dead connection is found (own choice)

}  // namespace

void HttpSession::answer_live(ApiResponse response) {
  if (*context_.live >= context_.limits.live)
    return answer_whole(
        problem(503, "Too many", "no more pages can be kept up to date; this one can be loaded again"));
  keep_ = false;
  opening_ = {};
  set_fields(opening_, response);
  if (!head_only_) {
    live_ = std::move(response.live);
    welcome_ = std::move(response.welcome);
    live_step_ = response.live_step.count() > 0 ? response.live_step : context_.limits.live_step;
    ++*context_.live;
  }
  opening_writer_.emplace(opening_);
  http::async_write_header(stream_, *opening_writer_, [self = shared_from_this()](Error error, std::size_t) {
    if (error || self->head_only_) return self->on_answered(error);
    self->stream_.expires_never();
    self->watch_peer();
    self->write_live();
  });
}

// Nothing is expected from there but its end.
void HttpSession::watch_peer() {
  buffer_.clear();
  stream_.async_read_some(buffer_.prepare(512), [self = shared_from_this()](Error error, std::size_t) {
    if (error || self->ended_) return self->close();
    self->watch_peer();
  });
}

void HttpSession::write_live() {
  if (ended_ || (welcome_ && !welcome_())) return close();
  piece_ = live_();
  if (piece_.empty() && ++quiet_ < kQuietRounds) return wait_live();
  if (piece_.empty()) piece_ = ":\n\n";
  quiet_ = 0;
  stream_.expires_after(context_.limits.send);
  asio::async_write(stream_, asio::buffer(piece_), [self = shared_from_this()](Error error, std::size_t) {
    if (error) return self->close();
    self->wait_live();
  });
}

void HttpSession::wait_live() {
  if (ended_) return;
  live_pause_.expires_after(live_step_);
  live_pause_.async_wait([self = shared_from_this()](Error error) {
    if (!error) self->write_live();
  });
}

void HttpSession::end_live() {
  live_pause_.cancel();
  if (std::exchange(live_, nullptr)) --*context_.live;
}

}  // namespace coilward
