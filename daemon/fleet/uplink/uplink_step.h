// What is sent to the fleet next, and when again: all of the uplink without its thread, files of history and
// connection.
//
// A number is confirmed by the fleet's "have up to N" alone; what the broker acknowledges promises nothing.
// Up to kWindow messages go past what is confirmed. When nothing is confirmed for a time, one goes again from
// have + 1, as a probe, with that time growing from kFirstPatience; an answer opens the window again.
#pragma once

#include <functional>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/fleet/uplink/parcel_source.h"
#include "daemon/fleet/uplink/uplink_budget.h"

namespace coilward {

inline constexpr std::int64_t kWindow = 64;
inline constexpr Millis kFirstPatience = std::chrono::seconds{4};
inline constexpr Millis kLongestPatience = std::chrono::minutes{10};
inline constexpr Millis kLongestPatienceMetered = std::chrono::hours{2};  // an outage must not eat the month
// In the outbox at most: findings, and of what can wait, so that a finding finds a short queue.
inline constexpr std::uint64_t kMostFindings = 1000;
inline constexpr std::uint64_t kMostOthers = 8;

struct UplinkState {
  bool connected = false;
  std::string trouble;         // why the link or the files do not do as they should
  UtcTime since = kNever;      // of the trouble
  UtcTime confirmed = kNever;  // last answer of the fleet; kNever: none since start
  std::uint64_t sent = 0, resent = 0, sent_bytes = 0;
  std::uint64_t month_bytes = 0, month_limit = 0;
  std::int64_t epoch = 0, have = 0, last = 0;
  UplinkOutboxCounts outbox;
};

// Thread: one at a time. What is given by reference outlives it.
class UplinkStep {
 public:
  using Send = std::function<void(std::string payload)>;
  UplinkStep(UplinkOutbox outbox, ParcelSource& source, const Clock& clock, std::uint64_t monthly_bytes,
             Millis keep_alive, Send send);

  // The link came or went.
  void connected(bool is);
  void heard(const UplinkHave& have);
  // Takes what is ready, sends what may go. Returns how long there is nothing to do, unless something
  // happens.
  Millis step();
  UplinkState state() const;

 private:
  using SteadyTime = std::chrono::steady_clock::time_point;
  Result<bool> take_ready();
  Result<bool> take(UplinkKind kind);
  Result<bool> send_ready();
  void probe_when_due();
  void count_pings();
  void note(const Result<bool>& result);
  Millis until_next() const;
  Millis longest_patience() const;

  UplinkOutbox outbox_;
  ParcelSource& source_;
  const Clock& clock_;
  UplinkBudget budget_;
  const Millis keep_alive_;
  Send send_;
  bool connected_ = false;
  std::int64_t next_ = 0;    // the number to be sent next
  std::int64_t sent_ = 0;    // the highest ever sent in this epoch
  std::int64_t window_ = 1;  // opens with the first answer
  Millis patience_ = kFirstPatience;
  SteadyTime patient_since_{};
  SteadyTime pings_counted_{};
  UplinkState state_;
};

}  // namespace coilward
