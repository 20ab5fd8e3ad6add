// One attempt after another at handing one exporter its batches, in order: what runs on its thread, without
// the thread. "Later" is tried again for ever, with the same batch: the backlog is the history itself.
// "Never" skips the batch and is counted.
#pragma once

#include <optional>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/delivery/backoff.h"
#include "daemon/delivery/batch_source.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/delivery/receiver.h"

namespace coilward {

inline constexpr double kBatchTimeLimitS = 10;
inline constexpr Millis kLookAgain = std::chrono::minutes{1};  // when nothing was ready

// Thread: one at a time. What is given by reference outlives it.
class ExporterStep {
 public:
  ExporterStep(std::string name, std::string plugin, Receiver& receiver, BatchSource& source,
               const Clock& clock, std::uint64_t seed);
  // At most one attempt. Returns how long to wait before the next step.
  Millis step();
  const DeliveryState& state() const { return state_; }

 private:
  using SteadyTime = std::chrono::steady_clock::time_point;
  Millis until_next(UtcTime now);
  Millis source_failed(const Error& error);
  Millis settle(const ExportBatch& batch, const Delivered& result);
  Millis later(const ExportBatch& batch, const Delivered& result);

  Receiver& receiver_;
  BatchSource& source_;
  const Clock& clock_;
  Backoff backoff_;
  SteadyTime not_before_{};  // the clock's own start: not at all
  DeliveryState state_;
};

}  // namespace coilward
