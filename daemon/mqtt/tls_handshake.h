// A TLS handshake of our own, made only to say in words why the one that matters failed: the MQTT library's
// own report of it is unusable (Paho C++ 1.2.0 calls it through a dangling pointer, eclipse/paho.mqtt.cpp
// issue 325).
#pragma once

#include <string>

#include "daemon/mqtt/broker_address.h"

namespace coilward {

// On a connected, blocking socket, which stays the caller's. ca_file: authorities to trust; empty: the
// system's. Returns what is wrong, as OpenSSL says it ("certificate has expired"), or nothing when the
// handshake succeeds. Thread: any; blocks as long as the socket's time limits allow.
std::string why_no_tls(int socket, const BrokerAddress& address, const std::string& ca_file);

}  // namespace coilward
