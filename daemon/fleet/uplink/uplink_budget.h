// What a metered link may carry in a calendar month (UTC), and what it has carried. Findings always go; where
// the month runs out, history waits first, then summaries: the later they are in the month, the more of the
// budget is free for them.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/fleet/uplink/uplink_message.h"

namespace coilward {

// What one message costs on the link beside its payload: PUBLISH with its topic, PUBACK, its part of the
// answer "have", and TLS, TCP and IP around each and around their acknowledgements. Reckoned from the sizes
// of their headers, not measured on a link: 400 to 500 bytes.
inline constexpr std::uint64_t kMessageOverhead = 450;
// One sign of life and its answer, with the same around them.
inline constexpr std::uint64_t kPingBytes = 200;

// Thread: one at a time.
class UplinkBudget {
 public:
  // monthly_bytes: 0 is no limit.
  explicit UplinkBudget(std::uint64_t monthly_bytes) : limit_(monthly_bytes) {}

  void spend(std::uint64_t bytes, UtcTime now);
  bool allows(UplinkKind kind, UtcTime now) const;
  std::uint64_t spent(UtcTime now) const;  // this month
  std::uint64_t limit() const { return limit_; }

  // As it is kept: "2026-05 123456".
  std::string text() const;
  void restore(const std::string& text);

 private:
  std::uint64_t limit_;
  int month_ = 0;  // year * 12 + month
  std::uint64_t spent_ = 0;
};

}  // namespace coilward
