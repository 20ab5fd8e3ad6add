// A small blocking MQTT publisher for programs that send and wait, such as `coilward simulate` and tests: QoS
// 1 with a bounded window of unacknowledged messages. The daemon itself publishes through Client, which never
// waits.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

// Thread: one at a time. Every call may block up to the timeout it was given.
class Publisher {
 public:
  // Connects with a clean session. Of `config` it uses url, version, client_id (empty: made up), username,
  // password_file, the TLS files and keep_alive_s. world: the broker cannot be reached or refuses;
  // bad_config: a file or the url is unusable.
  // window: messages sent and not yet acknowledged, at most; 1..1000.
  // timeout: for connecting, and for every wait for room in the window.
  static Result<std::unique_ptr<Publisher>> connect(
      const MqttConfig& config, std::size_t window = 100,
      std::chrono::milliseconds timeout = std::chrono::seconds(10));
  ~Publisher();
  Publisher(const Publisher&) = delete;
  Publisher& operator=(const Publisher&) = delete;

  // Sends one QoS 1 message, waiting for room in the window. Returns its number: 1 for the first, then 2, ...
  // world: the connection is gone, or no room in time; that message was not sent.
  Result<std::uint64_t> publish(std::string_view topic, std::string_view payload, bool retained = false);

  // Waits until every message sent is acknowledged. world: connection gone or time over.
  Result<bool> flush(std::chrono::milliseconds timeout = std::chrono::seconds(10));

  // Messages 1..acknowledged() are acknowledged by the broker (a broker acknowledges in order).
  std::uint64_t acknowledged() const;

 private:
  class Impl;
  explicit Publisher(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
