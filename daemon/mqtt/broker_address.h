// Where the broker is: mqtt://host[:port] or mqtts://host[:port].
#pragma once

#include <string>
#include <string_view>

#include "daemon/base/result.h"

namespace coilward {

struct BrokerAddress {
  bool tls = false;
  std::string host;           // without the brackets of an IPv6 address
  std::string port = "1883";  // 8883 with TLS (IANA)

  std::string library_uri() const;  // as Paho wants it: tcp:// or ssl://
  std::string text() const;         // host:port, for people
};

// bad_config: another scheme, no host, a port that is none, or credentials in the url (they belong in a
// file).
Result<BrokerAddress> parse_broker_url(std::string_view url);

}  // namespace coilward
