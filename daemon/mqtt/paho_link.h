// Paho's client with its habits kept inside: callbacks are registered once, before the first connect; nothing
// here waits; no exception leaves it. What the design rests on, tried with the versions of Debian 12
// (C 1.3.12, C++ 1.2.0):
//  - the message callback returns before the PUBACK is sent, so what it made safe is acknowledged and nothing
//  else;
//  - a name look-up holds Paho's global lock: any other call, is_connected() even, waits for it (measured: 6
//  s for
//    a 6 s look-up). So one thread makes all calls, and it is not the core's;
//  - a connect's success is told twice to its listener, once to `connected`: only the latter counts here;
//  - messages that were not acknowledged when a connection broke are sent again by Paho after the next
//  connect, and
//    their listeners are called then;
//  - connecting takes up to a second even on loopback: the receiving thread sees a new socket at its next
//  turn.
// Internal: brings in Paho's headers.
#pragma once

#include <mqtt/async_client.h>

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/mqtt/outgoing.h"

namespace coilward {

struct LinkEvent {
  enum Kind {
    connected,
    failed,  // the attempt to connect; code is that of CONNACK, or negative without one
    lost,    // code is the reason of an MQTT 5 DISCONNECT from the broker, or 0
    subscribed,
    not_subscribed,
    published,
    not_published,  // code >= 0x80: refused by the broker; negative: not sent
    disconnected,   // we asked for it
  };
  Kind kind = connected;
  std::intptr_t id = 0;  // as given to subscribe or publish
  int code = 0;
};

// Thread: one makes all calls; `keep` and `tell` are called on Paho's, under its global lock: they must not
// throw, wait, or take a lock that someone holds while calling here.
class PahoLink final : private mqtt::callback {
 public:
  using Keep = std::function<void(const mqtt::message&)>;
  using Tell = std::function<void(LinkEvent)>;

  PahoLink(const std::string& uri, const std::string& client_id, int version, Keep keep, Tell tell);
  ~PahoLink() override;

  // Each starts something; how it ended comes as an event. world: it could not be started.
  Result<bool> connect(const mqtt::connect_options& options);
  Result<bool> subscribe(const std::string& filter, int qos, std::intptr_t id);
  Result<bool> publish(const Outgoing& message, std::intptr_t id);
  Result<bool> disconnect(std::chrono::milliseconds for_what_is_under_way);

 private:
  class Listener;

  // mqtt::callback, on Paho's thread
  void connected(const std::string& cause) noexcept override;
  void connection_lost(const std::string& cause) noexcept override;
  void message_arrived(mqtt::const_message_ptr message) noexcept override;

  Keep keep_;
  Tell tell_;
  std::unique_ptr<Listener> connecting_, subscribing_, publishing_, disconnecting_;
  mqtt::async_client client_;  // last: destroyed first, while what it calls is still there
};

}  // namespace coilward
