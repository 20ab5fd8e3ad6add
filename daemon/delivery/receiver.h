// Whatever takes a message or a batch on the other side: a notifier or exporter plugin, or a fake.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace coilward {

enum class Outcome : std::uint8_t {
  done,
  retry,    // the other side may take it later
  refused,  // it will never take this one
};

struct Delivered {
  Outcome outcome = Outcome::retry;
  std::string words;  // the other side's own, or what stopped us from hearing them
};

class Receiver {
 public:
  virtual ~Receiver() = default;
  // One alert or batch as JSON. May block up to timeout_s. [the runner's thread]
  virtual Delivered deliver(std::string_view json, double timeout_s) = 0;
  // A running deliver returns soon. [any thread]
  virtual void interrupt() = 0;
};

}  // namespace coilward
