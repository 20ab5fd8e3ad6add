// A second connection to the broker that never says a word. When ours breaks and this one stands, the link
// and the broker are well, and it was the broker that ended ours: another client has taken our id.
// (MQTT 3.1.1 does not say why it closes a connection; MQTT 5 section 3.14.2.1 does.)
#pragma once

#include <chrono>
#include <memory>

#include "daemon/mqtt/broker_address.h"

namespace coilward {

// Thread: one at a time.
class LinkWitness {
 public:
  // nullptr: it cannot be opened, and proves nothing. Blocks for the look-up and `patience`.
  static std::unique_ptr<LinkWitness> open(const BrokerAddress& address,
                                           std::chrono::milliseconds patience = std::chrono::seconds(2));
  ~LinkWitness();
  LinkWitness(const LinkWitness&) = delete;
  LinkWitness& operator=(const LinkWitness&) = delete;

  // Has not broken yet, and does not within this time: what cut both need not have cut both at once.
  bool stands(std::chrono::milliseconds within) const;

 private:
  explicit LinkWitness(int socket) : socket_(socket) {}
  const int socket_;
};

}  // namespace coilward
