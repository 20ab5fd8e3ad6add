#include "daemon/fleet/uplink/uplink_step.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/base/log.h"

namespace coilward {
namespace {

constexpr Millis kLookAgain = std::chrono::minutes{1};  // for runs and roll-ups that became ready
constexpr std::size_t kRowsAtOnce = 16;
constexpr const char* kBudgetMark = "budget";
// Findings first. A site's description before its runs, so that zones have names when these arrive.
constexpr UplinkKind kOrder[] = {UplinkKind::finding, UplinkKind::site, UplinkKind::health, UplinkKind::runs,
                                 UplinkKind::history};

}  // namespace

UplinkStep::UplinkStep(UplinkOutbox outbox, ParcelSource& source, const Clock& clock,
                       std::uint64_t monthly_bytes, Millis keep_alive, Send send)
    : outbox_(std::move(outbox)),
      source_(source),
      clock_(clock),
      budget_(monthly_bytes),
      keep_alive_(keep_alive),
      send_(std::move(send)) {
  if (const auto it = outbox_.marks().find(kBudgetMark); it != outbox_.marks().end())
    budget_.restore(it->second);
  next_ = outbox_.have() + 1;
}

// A new connection begins with a probe: what was under way on the old one may have arrived.
void UplinkStep::connected(bool is) {
  if (std::exchange(connected_, is) == is || !is) return;
  next_ = outbox_.have() + 1;
  window_ = 1;
  patience_ = kFirstPatience;
  patient_since_ = pings_counted_ = clock_.steady();
}

void UplinkStep::heard(const UplinkHave& have) {
  if (have.epoch != outbox_.epoch()) return;
  state_.confirmed = clock_.utc();
  if (have.have > outbox_.last()) {
    log::error(
        "the fleet has {} messages of this outbox, which made {}: it is an old copy, a new epoch begins",
        have.have, outbox_.last());
    note(outbox_.begin_epoch());
    next_ = 1, sent_ = 0, window_ = 1;
    return;
  }
  if (have.have <= outbox_.have()) return;
  note(outbox_.cut(have.have, {{kBudgetMark, budget_.text()}}));
  next_ = std::max(next_, have.have + 1);
  window_ = std::min(kWindow, window_ * 2);
  patience_ = kFirstPatience;
  patient_since_ = clock_.steady();
}

Millis UplinkStep::step() {
  const auto epoch = outbox_.epoch();
  auto result = take_ready();
  if (result && connected_) {
    count_pings();
    probe_when_due();
    result = send_ready();
  }
  note(result);
  if (outbox_.epoch() != epoch) next_ = 1, sent_ = 0;  // the file was made anew
  return result ? until_next() : kLookAgain;
}

// What may wait is taken only while the fleet answers: it is as safe where it is.
Result<bool> UplinkStep::take_ready() {
  for (const UplinkKind kind : kOrder) {
    if (kind != UplinkKind::finding && !connected_) continue;
    const auto most = kind == UplinkKind::finding ? kMostFindings : kMostOthers;
    while (outbox_.counts().waiting < most && budget_.allows(kind, clock_.utc())) {
      const auto taken = take(kind);
      if (!taken) return taken.error();
      if (!*taken) break;
    }
  }
  return true;
}

Result<bool> UplinkStep::take(UplinkKind kind) {
  const UtcTime now = clock_.utc();
  auto parcel = source_.next(kind, outbox_.marks(), now);
  if (!parcel) return parcel.error();
  if (!*parcel) return false;
  return (*parcel)->json.empty() ? outbox_.set_marks((*parcel)->marks) : outbox_.add(**parcel, now);
}

void UplinkStep::probe_when_due() {
  if (sent_ <= outbox_.have() || next_ <= outbox_.have() + 1) return;  // nothing is under way
  if (clock_.steady() - patient_since_ < patience_) return;
  next_ = outbox_.have() + 1;
  window_ = 1;
  patience_ = std::min(longest_patience(), patience_ * 2);
}

Result<bool> UplinkStep::send_ready() {
  while (next_ <= outbox_.last() && next_ <= outbox_.have() + window_) {
    const auto rows = outbox_.after(next_ - 1, kRowsAtOnce);
    if (!rows) return rows.error();
    if (rows->empty()) return true;
    for (const UplinkRow& row : *rows) {
      if (row.head.seq > outbox_.have() + window_) return true;
      std::string payload = uplink_payload(row.head, row.squeezed);
      budget_.spend(payload.size() + kMessageOverhead, clock_.utc());
      state_.sent_bytes += payload.size() + kMessageOverhead;
      ++(row.head.seq <= sent_ ? state_.resent : state_.sent);
      send_(std::move(payload));
      if (row.head.seq == outbox_.have() + 1) patient_since_ = clock_.steady();
      next_ = row.head.seq + 1;
      sent_ = std::max(sent_, row.head.seq);
    }
  }
  return true;
}

void UplinkStep::count_pings() {
  const auto past = clock_.steady() - pings_counted_;
  const auto pings = past / keep_alive_;
  if (pings <= 0) return;
  pings_counted_ += pings * keep_alive_;
  budget_.spend(static_cast<std::uint64_t>(pings) * kPingBytes, clock_.utc());
}

void UplinkStep::note(const Result<bool>& result) {
  if (result) {
    if (!state_.trouble.empty()) log::limited_over("fleet", "messages to the fleet can be kept again");
    state_.trouble.clear();
    return;
  }
  if (state_.trouble.empty()) state_.since = clock_.utc();
  state_.trouble = result.error().what;
  log::limited(log::Level::error, "fleet",
               fmt::format("messages to the fleet cannot be kept: {}", state_.trouble));
}

Millis UplinkStep::until_next() const {
  if (!connected_ || sent_ <= outbox_.have()) return kLookAgain;
  const auto due = patient_since_ + patience_ - clock_.steady();
  return std::clamp(std::chrono::ceil<Millis>(due), Millis{10}, kLookAgain);
}

Millis UplinkStep::longest_patience() const {
  return budget_.limit() > 0 ? kLongestPatienceMetered : kLongestPatience;
}

UplinkState UplinkStep::state() const {
  UplinkState state = state_;
  state.connected = connected_;
  state.month_bytes = budget_.spent(clock_.utc());
  state.month_limit = budget_.limit();
  state.epoch = outbox_.epoch();
  state.have = outbox_.have();
  state.last = outbox_.last();
  state.outbox = outbox_.counts();
  return state;
}

}  // namespace coilward
