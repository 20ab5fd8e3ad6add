// A receiver made of two functions, such as the deliver and interrupt of a plugin that someone else owns.
#pragma once

#include <functional>

#include "daemon/delivery/receiver.h"

namespace coilward {

class FunctionReceiver final : public Receiver {
 public:
  using Deliver = std::function<Delivered(std::string_view json, double timeout_s)>;
  // Both own what they use.
  FunctionReceiver(Deliver deliver, std::function<void()> interrupt)
      : deliver_(std::move(deliver)), interrupt_(std::move(interrupt)) {}
  Delivered deliver(std::string_view json, double timeout_s) override { return deliver_(json, timeout_s); }
  void interrupt() override { interrupt_(); }

 private:
  Deliver deliver_;
  std::function<void()> interrupt_;
};

}  // namespace coilward
