// One attempt after another at delivering one notifier's alerts: what runs on its thread, without the thread.
//
// Rules: at most kTimeLimitS an attempt. "Later" leaves the receiver alone for a growing while (backoff.h),
// then the next waiting alert is tried, so that one it never takes does not hold up the others; an alert is
// given up once the receiver has said "later" kKeepTrying after it was queued; when the receiver is plainly
// dead, others that old go with it. "Never" is final. Both are counted. What fails three times in a row or is
// refused is handed to a notifier that stands by, and still tried here.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/delivery/backoff.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/delivery/receiver.h"
#include "daemon/delivery/spare_outbox.h"

namespace coilward {

inline constexpr double kTimeLimitS = 10;
inline constexpr Millis kKeepTrying = std::chrono::hours{24};
// Queued longer ago than this, the clock was not set yet: attempts are counted instead, a day's worth of
// them.
inline constexpr Millis kNoSuchAge = std::chrono::hours{30 * 24};
inline constexpr int kDayOfAttempts = 288;
// A next attempt further away than any wait means that the clock was set back: it is due.
inline constexpr Millis kClockWasSet = std::chrono::minutes{10};
inline constexpr Millis kOutboxAgain = std::chrono::seconds{30};  // after the outbox could not be read

// Thread: one at a time. What is given by reference outlives it.
class NotifierStep {
 public:
  // site_zone: IANA.
  NotifierStep(std::string name, std::string plugin, std::string site_zone, Receiver& receiver,
               SpareOutbox& outbox, const Clock& clock, std::uint64_t seed);

  // Called with an alert that another notifier is to try too, each time that this becomes so again.
  void hand_over_to(std::function<void(const WaitingAlert&)> other) { hand_over_ = std::move(other); }
  // At most one attempt. Returns how long to wait before the next step; nullopt: until something is queued.
  std::optional<Millis> step();
  // An attempt outside of the outbox, now: for `test-alert`. Changes nothing but what is known of the last
  // test.
  Delivered test(std::string_view alert_json);
  const DeliveryState& state() const { return state_; }

 private:
  using SteadyTime = std::chrono::steady_clock::time_point;
  std::optional<Millis> until_next(UtcTime now);
  Millis outbox_failed(const Error& error);
  Delivered attempt(const WaitingAlert& alert);
  void settle(const WaitingAlert& alert, const Delivered& result);
  void later(const WaitingAlert& alert, const Delivered& result, UtcTime now);
  void hand_over(const WaitingAlert& alert);
  void give_up_old(UtcTime now);
  void note_mark(const Result<bool>& marked);
  void well();

  const std::string timezone_;
  Receiver& receiver_;
  SpareOutbox& outbox_;
  const Clock& clock_;
  Backoff backoff_;
  SteadyTime not_before_{};  // the clock's own start: not at all
  std::function<void(const WaitingAlert&)> hand_over_;
  DeliveryState state_;
};

}  // namespace coilward
