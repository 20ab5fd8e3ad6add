// What a session makes of what it is told: state, log lines, waiting, leaving.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/base/log.h"
#include "daemon/mqtt/paho_options.h"
#include "daemon/mqtt/session.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

// Another client with our id throws us out right after we came, as soon as it has waited for its own next
// attempt, again and again; and the link is well meanwhile.
constexpr auto kShort = 10s;
constexpr unsigned kShortDrops = 5, kThrownOut = 3;
// What cuts a link need not cut all its connections at once.
constexpr auto kBothCut = 300ms;
constexpr auto kLong = 60s;              // a connection that lasted this long is a good one
constexpr int kSessionTakenOver = 0x8E;  // MQTT 5 section 3.14.2.1
// What stop keeps back of its time for the disconnect itself and for Paho's threads to end.
constexpr auto kForLeaving = 700ms;
constexpr auto kForDisconnect = 300ms;

constexpr std::string_view kLogKey = "mqtt";
constexpr std::string_view kContestedKey = "mqtt-id";

}  // namespace

void Session::change_status(const std::function<void(ClientStatus&)>& change) {
  {
    std::lock_guard lock(mutex_);
    change(status_);
  }
  std::lock_guard lock(changed_mutex_);
  if (changed_) changed_();
}

void Session::note_connected() {
  connecting_ = false;
  connected_ = true;
  failures_ = 0;
  connected_at_ = last_settled_ = Steady::now();
  change_status([this](ClientStatus& s) {
    s.link = Link::connected;
    s.trouble = Trouble::none;
    s.detail.clear();
    s.since = clock_.utc();
    ++s.connects;
  });
  const std::string line = fmt::format("connected to the broker at {}", address_.text());
  if (complaining_) {
    log::limited_over(kLogKey, line);
  } else {
    log::info("{}", line);
  }
  complaining_ = false;
}

void Session::note_failed(int code) {
  connecting_ = false;
  connected_ = false;
  ++failures_;
  if (stop_requested()) return;  // finding out why takes time
  set_trouble(Link::waiting,
              code > 0 ? diagnose_refusal(code) : diagnose_silence(address_, options_.mqtt.ca_file));
}

void Session::note_lost(int code) {
  if (!connected_) return;
  connected_ = false;
  note_short(std::chrono::duration_cast<Millis>(Steady::now() - connected_at_));
  note_contested(code);
  change_status([](ClientStatus& s) {
    ++s.drops;
    s.subscribed = false;
  });
  set_trouble(Link::waiting, {Trouble::lost, fmt::format("the connection to {} was lost", address_.text())});
}

// One that lasted for less than one and a half keepalives did not end because an answer to a ping was missed
// (MQTT 3.1.1 section 3.1.2.10).
void Session::note_short(Millis lasted) {
  if (lasted >= kLong) short_drops_ = thrown_out_ = 0;
  if (lasted >= kShort) return;
  ++short_drops_;
  const bool by_broker = 2 * lasted < 3 * std::chrono::seconds(options_.mqtt.keep_alive_s) && witness_ &&
                         witness_->stands(kBothCut);
  thrown_out_ = by_broker ? thrown_out_ + 1 : 0;
}

void Session::note_contested(int code) {
  const bool shown = short_drops_ >= kShortDrops && thrown_out_ >= kThrownOut;
  if (!shown && code != kSessionTakenOver) return;
  change_status([](ClientStatus& s) { s.id_contested = true; });
  log::limited(log::Level::warning, kContestedKey,
               fmt::format("another client uses the client id {}: give each its own mqtt.client_id",
                           options_.mqtt.client_id));
}

// Whoever took our id is gone, or has another one now.
void Session::note_settled_in() {
  if (short_drops_ == 0 || Steady::now() - connected_at_ < 2 * kLong) return;
  short_drops_ = thrown_out_ = 0;
  witness_.reset();
  change_status([](ClientStatus& s) { s.id_contested = false; });
  log::limited_over(kContestedKey,
                    fmt::format("the client id {} is ours alone again", options_.mqtt.client_id));
}

void Session::set_trouble(Link link, Diagnosed diagnosed) {
  change_status([&](ClientStatus& s) {
    if (s.trouble != diagnosed.trouble) s.since = clock_.utc();
    s.link = link;
    s.trouble = diagnosed.trouble;
    s.detail = diagnosed.detail;
  });
  complaining_ = true;
  log::limited(log::Level::warning, kLogKey, fmt::format("no broker: {}", diagnosed.detail));
}

void Session::settle(const LinkEvent& event) {
  if (event.kind == LinkEvent::subscribed || event.kind == LinkEvent::not_subscribed) return confirm(event);
  const auto at = in_flight_.find(event.id);
  if (at == in_flight_.end()) return;  // was sent again meanwhile
  last_settled_ = Steady::now();
  if (event.kind == LinkEvent::not_published && event.code < 0) return put_back(at);
  in_flight_.erase(at);
  in_flight_count_ = in_flight_.size();
  std::lock_guard lock(mutex_);
  ++(event.kind == LinkEvent::published ? status_.published : status_.outgoing_dropped);
}

void Session::confirm(const LinkEvent& event) {
  const std::string& filter = options_.filters[static_cast<std::size_t>(event.id)];
  if (event.kind == LinkEvent::not_subscribed) {
    if (event.code < 0) return;  // the connection broke before the answer
    log::limited(log::Level::error, "mqtt-subscribe " + filter,
                 fmt::format("the broker does not let us subscribe to {}: check its access list", filter));
    return change_status([&](ClientStatus& s) { s.refused_filters.push_back(filter); });
  }
  if (to_confirm_ > 0 && --to_confirm_ == 0) change_status([](ClientStatus& s) { s.subscribed = true; });
}

void Session::pause_before_next() {
  const auto until = Steady::now() + delay_.after(std::max(failures_, short_drops_));
  while (Steady::now() < until && !stop_requested()) {
    if (const auto event = next_event(until, false)) handle(*event);
  }
}

// ---- leaving

void Session::end() {
  leaving_ = true;
  if (connected_) say_goodbye();
  // Paho cannot be torn down while it connects. Whoever asked to stop leaves by _exit when this takes too
  // long.
  while (connecting_) {
    if (const auto event = next_event(Steady::time_point::max(), false)) handle(*event);
    if (connected_) say_goodbye();
  }
  link_.reset();
  std::lock_guard lock(mutex_);
  status_.link = Link::stopped;
  status_.subscribed = false;
  ended_ = true;
  happened_.notify_all();
}

void Session::say_goodbye() {
  const auto sent_by = stop_deadline() - kForLeaving;
  announce("offline");
  send_waiting();
  while (connected_ && !in_flight_.empty() && Steady::now() < sent_by) {
    if (const auto event = next_event(sent_by, false)) handle(*event);
    send_waiting();
  }
  const auto gone_by = Steady::now() + kForDisconnect;
  if (!connected_ || !link_->disconnect(kForDisconnect)) return;
  while (connected_ && Steady::now() < gone_by) {
    if (const auto event = next_event(gone_by, false)) handle(*event);
  }
  connected_ = false;
}

// ---- shared with callers

void Session::on_change(std::function<void()> changed) {
  std::lock_guard lock(changed_mutex_);
  changed_ = std::move(changed);
}

void Session::publish(Outgoing message) {
  {
    std::lock_guard lock(mutex_);
    outgoing_.put(std::move(message));
  }
  happened_.notify_all();
}

void Session::request_stop(Steady::time_point deadline) {
  {
    std::lock_guard lock(mutex_);
    if (!stop_deadline_) stop_deadline_ = deadline;
  }
  happened_.notify_all();
}

bool Session::wait_ended(Steady::time_point deadline) {
  std::unique_lock lock(mutex_);
  return happened_.wait_until(lock, deadline, [this] { return ended_; });
}

bool Session::stop_requested() const {
  std::lock_guard lock(mutex_);
  return stop_deadline_.has_value();
}

Session::Steady::time_point Session::stop_deadline() const {
  std::lock_guard lock(mutex_);
  return stop_deadline_.value_or(Steady::now());
}

ClientStatus Session::status() const {
  std::lock_guard lock(mutex_);
  ClientStatus status = status_;
  status.last_message = from_ms(last_message_ms_);
  status.messages = messages_;
  status.outgoing = outgoing_.size() + in_flight_count_;
  status.outgoing_dropped += outgoing_.dropped();
  return status;
}

// The next event; nullopt at `until`, or when there is something else to do: leaving, or sending.
std::optional<LinkEvent> Session::next_event(Steady::time_point until, bool watch_outgoing) {
  std::unique_lock lock(mutex_);
  const auto ready = [&] {
    return !events_.empty() || (stop_deadline_ && !leaving_) || (watch_outgoing && !outgoing_.empty());
  };
  // wait_until overflows with time_point::max on some clocks; an hour is as good.
  if (!happened_.wait_until(lock, std::min(until, Steady::now() + 1h), ready) || events_.empty())
    return std::nullopt;
  const LinkEvent event = events_.front();
  events_.pop_front();
  return event;
}

}  // namespace coilward
