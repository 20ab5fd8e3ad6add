// A plugin as a receiver.
#pragma once

#include "daemon/delivery/receiver.h"
#include "daemon/host/sender.h"

namespace coilward {

inline Delivered delivered(SendReply reply) {
  switch (reply.outcome) {
    case SendOutcome::done:
      return {Outcome::done, std::move(reply.words)};
    case SendOutcome::refused:
      return {Outcome::refused, std::move(reply.words)};
    case SendOutcome::retry:
      break;
  }
  return {Outcome::retry, std::move(reply.words)};
}

class NotifierReceiver final : public Receiver {
 public:
  explicit NotifierReceiver(Notifier notifier) : notifier_(std::move(notifier)) {}
  Delivered deliver(std::string_view json, double timeout_s) override {
    return delivered(notifier_.deliver(json, timeout_s));
  }
  void interrupt() override { notifier_.interrupt(); }

 private:
  Notifier notifier_;
};

class ExporterReceiver final : public Receiver {
 public:
  explicit ExporterReceiver(Exporter exporter) : exporter_(std::move(exporter)) {}
  Delivered deliver(std::string_view json, double timeout_s) override {
    return delivered(exporter_.store(json, timeout_s));
  }
  void interrupt() override { exporter_.interrupt(); }

 private:
  Exporter exporter_;
};

}  // namespace coilward
