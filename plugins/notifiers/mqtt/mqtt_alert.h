// Publishes an alert to a topic of a broker.
#pragma once

#include <atomic>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "plugins/common/reply.h"
#include "plugins/notifiers/mqtt/broker_call.h"

namespace coilward_plugins {

class MqttAlert {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit MqttAlert(const nlohmann::json& settings);

  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept { interrupted_ = true; }             // [any thread]

 private:
  BrokerPlace place_;
  std::string password_file_, topic_, text_topic_;
  bool retain_ = false;
  std::atomic<bool> interrupted_{false};
};

}  // namespace coilward_plugins
