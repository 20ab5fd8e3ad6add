// Connect options for Paho from a configuration. Internal: brings in Paho's headers.
#pragma once

#include <mqtt/connect_options.h>

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

struct PahoOptions {
  bool keep_session = true;
  std::chrono::seconds connect_timeout{10};
  std::string will_topic;  // empty: no will
  std::string will_payload;
  std::function<void(const std::string&)> on_tls_words;  // what OpenSSL complains of; Paho's threads
};

struct PahoConnect {
  mqtt::connect_options options;
  // Paho C++ 1.2.0 hands the address of the object that was told of on_tls_words to its C library, and
  // copying options does not mend it: a crash at the first TLS error. So that object is kept as long as the
  // attempt.
  std::unique_ptr<mqtt::ssl_options> tls;
};

// Reads the credential files anew, so that renewed ones are used at the next connect. bad_config: a file.
Result<PahoConnect> make_paho_options(const MqttConfig& config, const PahoOptions& options);

}  // namespace coilward
