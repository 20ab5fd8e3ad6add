// Connect options for Paho from a configuration. Internal: brings in Paho's headers.
#pragma once

#include <mqtt/connect_options.h>

#include <chrono>
#include <string>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

struct PahoOptions {
  bool keep_session = true;
  std::chrono::seconds connect_timeout{10};
  std::string will_topic;  // empty: no will
  std::string will_payload;
};

// Reads the credential files anew, so that renewed ones are used at the next connect. bad_config: a file.
// `to` must not be moved or copied before it is given to Paho's connect: copies of Paho C++ 1.2.0 point at
// the MQTT 5 properties of the original (tried: the session's expiry was lost, and with it the session).
Result<bool> set_paho_options(mqtt::connect_options& to, const MqttConfig& config,
                              const PahoOptions& options);

}  // namespace coilward
