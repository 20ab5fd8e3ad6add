// Where a notifier's waiting alerts are, and where their fate is written. The real one is a table
// (store_outbox.h).
#pragma once

#include <optional>
#include <string>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

// An alert whose turn it is.
struct WaitingAlert {
  std::int64_t row = 0;
  std::string alert;  // Alert::id
  std::string json;   // alert_to_json
  UtcTime queued = kNever;
  int attempts = 0;  // so far
};

// Of one notifier. Thread: one at a time. Errors: world; a change that failed may be tried again as it is.
class OutboxSource {
 public:
  virtual ~OutboxSource() = default;
  // The one whose turn is next, not before its next attempt; nullopt: none.
  virtual Result<std::optional<WaitingAlert>> next(UtcTime now) = 0;
  // When next() will have something; kNever: nothing is waiting.
  virtual Result<UtcTime> next_time() = 0;
  virtual Result<bool> done(std::int64_t row, UtcTime now, const std::string& words) = 0;
  // Counts an attempt; the next is not before `next`.
  virtual Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) = 0;
  virtual Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words) = 0;
  virtual Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words) = 0;
};

}  // namespace coilward
