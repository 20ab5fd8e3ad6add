// Why there is no connection to the broker, told apart as far as a person needs to act on it.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <string_view>

#include "daemon/mqtt/broker_address.h"

namespace coilward {

enum class Trouble : std::uint8_t {
  none,
  unknown_name,  // the host's name cannot be resolved
  unreachable,   // no answer from the host
  refused,       // the host answers, nothing listens on the port
  tls,           // no TLS session: certificate, name or protocol
  silent,        // the connection is accepted, no MQTT answer follows
  bad_login,     // user name or password
  rejected,      // the broker does not want this client: id, protocol version, not available
  bad_file,      // a password, key or certificate file of ours
  lost,          // the connection was there and broke
};
std::string_view trouble_name(Trouble trouble);  // "bad_login"

struct Diagnosed {
  Trouble trouble = Trouble::none;
  std::string detail;  // one sentence
};

// Of a CONNACK: MQTT 3.1.1 section 3.2.2.3 return codes 1..5, MQTT 5 section 3.2.2.2 reason codes from 0x80.
Diagnosed diagnose_refusal(int code);

// Of an attempt that ended without an answer: looks the name up and opens a connection of its own. ca_file:
// as configured. Blocks for the look-up and about twice `patience`.
Diagnosed diagnose_silence(const BrokerAddress& address, const std::string& ca_file,
                           std::chrono::milliseconds patience = std::chrono::seconds(3));

}  // namespace coilward
