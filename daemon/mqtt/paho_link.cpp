#include "daemon/mqtt/paho_link.h"

namespace coilward {
namespace {

// A broker's refusal of MQTT 5 comes as reason code, of 3.1.1 as return code.
int outcome_code(const mqtt::token& token) {
  const int reason = static_cast<int>(token.get_reason_code());
  return reason >= 0x80 && reason != 0xFF ? reason : token.get_return_code();
}

template <class Start>
Result<bool> started(Start start) {
  try {
    start();
    return true;
  } catch (const std::exception& error) {
    return Error{Cause::world, error.what()};
  }
}

}  // namespace

// Turns the end of an action into an event; shared by all actions of a kind, which the id tells apart.
class PahoLink::Listener final : public mqtt::iaction_listener {
 public:
  Listener(const Tell& tell, LinkEvent::Kind succeeded, LinkEvent::Kind failed)
      : tell_(tell), succeeded_(succeeded), failed_(failed) {}

  void on_success(const mqtt::token& token) noexcept override {
    if (succeeded_ != LinkEvent::connected) tell_({succeeded_, id_of(token), 0});
  }
  void on_failure(const mqtt::token& token) noexcept override {
    tell_({failed_, id_of(token), outcome_code(token)});
  }

 private:
  static std::intptr_t id_of(const mqtt::token& token) {
    return reinterpret_cast<std::intptr_t>(token.get_user_context());
  }

  const Tell& tell_;
  const LinkEvent::Kind succeeded_;
  const LinkEvent::Kind failed_;
};

PahoLink::PahoLink(const std::string& uri, const std::string& client_id, int version, Keep keep, Tell tell)
    : keep_(std::move(keep)),
      tell_(std::move(tell)),
      connecting_(std::make_unique<Listener>(tell_, LinkEvent::connected, LinkEvent::failed)),
      subscribing_(std::make_unique<Listener>(tell_, LinkEvent::subscribed, LinkEvent::not_subscribed)),
      publishing_(std::make_unique<Listener>(tell_, LinkEvent::published, LinkEvent::not_published)),
      disconnecting_(std::make_unique<Listener>(tell_, LinkEvent::disconnected, LinkEvent::disconnected)),
      client_(uri, client_id, mqtt::create_options(version), nullptr) {
  client_.set_callback(*this);
  client_.set_disconnected_handler([this](const mqtt::properties&, mqtt::ReasonCode reason) noexcept {
    tell_({LinkEvent::lost, 0, static_cast<int>(reason)});
  });
}

PahoLink::~PahoLink() = default;

Result<bool> PahoLink::connect(const mqtt::connect_options& options) {
  return started([&] { client_.connect(options, nullptr, *connecting_); });
}

Result<bool> PahoLink::subscribe(const std::string& filter, int qos, std::intptr_t id) {
  return started([&] { client_.subscribe(filter, qos, reinterpret_cast<void*>(id), *subscribing_); });
}

Result<bool> PahoLink::publish(const Outgoing& message, std::intptr_t id) {
  return started([&] {
    client_.publish(message.topic, message.payload.data(), message.payload.size(), 1, message.retained,
                    reinterpret_cast<void*>(id), *publishing_);
  });
}

Result<bool> PahoLink::disconnect(std::chrono::milliseconds for_what_is_under_way) {
  return started(
      [&] { client_.disconnect(static_cast<int>(for_what_is_under_way.count()), nullptr, *disconnecting_); });
}

// An exception here would unwind through C. Out of memory aborts, and nothing is acknowledged.
void PahoLink::connected(const std::string&) noexcept { tell_({LinkEvent::connected, 0, 0}); }

void PahoLink::connection_lost(const std::string&) noexcept { tell_({LinkEvent::lost, 0, 0}); }

void PahoLink::message_arrived(mqtt::const_message_ptr message) noexcept {
  if (message) keep_(*message);
}

}  // namespace coilward
