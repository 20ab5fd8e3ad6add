#include "daemon/mqtt/session.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/base/log.h"
#include "daemon/mqtt/paho_options.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
using Steady = std::chrono::steady_clock;

// Unacknowledged reports at once: enough to keep a slow link busy, few enough that little is sent twice after
// it broke.
constexpr std::size_t kWindow = 16;
// So many short connections in a row, and it is looked at who ends them.
constexpr unsigned kSuspicious = 2;
// A report not acknowledged this long after the connect is sent again, in case the library forgot it.
constexpr auto kOverdue = 60s;

}  // namespace

Session::Session(ClientOptions options, BrokerAddress address, Client::Take take, const Clock& clock)
    : options_(std::move(options)),
      address_(std::move(address)),
      take_(std::move(take)),
      clock_(clock),
      status_topic_(options_.status_topic.value_or(
          fmt::format("{}/{}/report/status", options_.mqtt.prefix, options_.site))),
      last_message_ms_(to_ms(kNever)),
      delay_(options_.first_delay, options_.longest_delay) {
  status_.since = clock_.utc();
}

void Session::run() {
  link_.emplace(
      address_.library_uri(), options_.mqtt.client_id, options_.mqtt.version,
      [this](const mqtt::message& message) { keep(message); }, [this](LinkEvent event) { tell(event); });
  while (!stop_requested()) {
    if (connect_and_wait()) serve();
    if (!stop_requested()) pause_before_next();
  }
  end();
}

// ---- Paho's thread

void Session::keep(const mqtt::message& arrived) noexcept {
  Message message;
  message.topic = arrived.get_topic();
  message.payload = arrived.get_payload();
  message.arrival = clock_.utc();
  message.retained = arrived.is_retained();
  message.duplicate = arrived.is_duplicate();
  message.time_unsure = time_unsure_;
  take_(message);
  last_message_ms_ = to_ms(message.arrival);
  ++messages_;
}

void Session::tell(LinkEvent event) noexcept {
  {
    std::lock_guard lock(mutex_);
    events_.push_back(event);
  }
  happened_.notify_all();
}

// ---- connecting

bool Session::begin_connect() {
  change_status([](ClientStatus& s) { s.link = Link::connecting; });
  mqtt::connect_options options;
  if (auto made = set_paho_options(options, options_.mqtt, paho_options()); !made) {
    ++failures_;
    set_trouble(Link::waiting, {Trouble::bad_file, made.error().what});
    return false;
  }
  auto started = link_->connect(options);
  connecting_ = static_cast<bool>(started);
  if (started) return true;
  ++failures_;
  set_trouble(Link::waiting, {Trouble::unreachable, "cannot start to connect: " + started.error().what});
  return false;
}

PahoOptions Session::paho_options() {
  PahoOptions options;
  options.connect_timeout = options_.connect_timeout;
  options.keep_session = options_.keep_session;
  options.will_topic = status_topic_;
  options.will_payload = status_report("offline", options_.site, options_.version, kNever);
  return options;
}

bool Session::connect_and_wait() {
  witness_ = short_drops_ >= kSuspicious ? LinkWitness::open(address_) : nullptr;
  if (!begin_connect()) return false;
  while (!stop_requested()) {
    const auto event = next_event(Steady::time_point::max(), false);
    if (!event) continue;
    handle(*event);
    if (!connecting_) return connected_;
  }
  return false;
}

// ---- connected

void Session::serve() {
  subscribe_all();
  announce("online");
  while (connected_ && !stop_requested()) {
    send_waiting();
    send_again_what_is_overdue();
    note_settled_in();
    if (const auto event = next_event(Steady::now() + 10s, in_flight_.size() < kWindow)) handle(*event);
  }
}

void Session::subscribe_all() {
  to_confirm_ = options_.filters.size();
  change_status([](ClientStatus& s) {
    s.subscribed = false;
    s.refused_filters.clear();
  });
  for (std::size_t i = 0; i < options_.filters.size(); ++i) {
    // Not started means that the connection is gone again, which comes as an event.
    if (!link_->subscribe(options_.filters[i], options_.qos, static_cast<std::intptr_t>(i))) return;
  }
}

void Session::announce(std::string_view state) {
  if (!status_topic_.empty()) send(status_message(state));
}

Outgoing Session::status_message(std::string_view state) const {
  return {status_topic_, status_report(state, options_.site, options_.version, clock_.utc()), true};
}

void Session::send_waiting() {
  while (connected_ && in_flight_.size() < kWindow) {
    auto message = take_outgoing();
    if (!message) return;
    send(std::move(*message));
  }
}

void Session::send(Outgoing message) {
  const std::intptr_t id = ++last_id_;
  const auto at = in_flight_.emplace(id, std::move(message)).first;
  in_flight_count_ = in_flight_.size();
  if (link_->publish(at->second, id)) return;
  put_back(at);
  note_lost(0);  // the only reason that Paho has here; its own event comes later and finds it done
}

void Session::send_again_what_is_overdue() {
  if (in_flight_.size() < kWindow || Steady::now() - last_settled_ < kOverdue) return;
  while (!in_flight_.empty()) put_back(std::prev(in_flight_.end()));  // the oldest ends up first
  last_settled_ = Steady::now();
}

void Session::put_back(std::map<std::intptr_t, Outgoing>::iterator at) {
  std::lock_guard lock(mutex_);
  outgoing_.put_back(std::move(at->second));
  in_flight_.erase(at);
  in_flight_count_ = in_flight_.size();
}

std::optional<Outgoing> Session::take_outgoing() {
  std::lock_guard lock(mutex_);
  return outgoing_.take();
}

// ---- events

void Session::handle(const LinkEvent& event) {
  switch (event.kind) {
    case LinkEvent::connected:
      return note_connected();
    case LinkEvent::failed:
      return note_failed(event.code);
    case LinkEvent::lost:
      return note_lost(event.code);
    case LinkEvent::subscribed:
    case LinkEvent::not_subscribed:
    case LinkEvent::published:
    case LinkEvent::not_published:
      return settle(event);
    case LinkEvent::disconnected:
      connected_ = false;
  }
}

}  // namespace coilward
