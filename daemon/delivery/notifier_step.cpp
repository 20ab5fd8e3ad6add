#include "daemon/delivery/notifier_step.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/wording.h"
#include "daemon/base/log.h"
#include "daemon/delivery/late_words.h"

namespace coilward {
namespace {

bool too_old(const WaitingAlert& alert, UtcTime now) {
  const Millis age = now - alert.queued;
  return age >= kKeepTrying && (age < kNoSuchAge || alert.attempts >= kDayOfAttempts);
}

}  // namespace

NotifierStep::NotifierStep(std::string name, std::string plugin, std::string site_zone, Receiver& receiver,
                           SpareOutbox& outbox, const Clock& clock, std::uint64_t seed)
    : timezone_(std::move(site_zone)), receiver_(receiver), outbox_(outbox), clock_(clock), backoff_(seed) {
  state_.name = std::move(name);
  state_.plugin = std::move(plugin);
}

std::optional<Millis> NotifierStep::step() {
  if (const auto left = not_before_ - clock_.steady(); left.count() > 0)
    return std::chrono::ceil<Millis>(left);
  const UtcTime now = clock_.utc();
  const auto next = outbox_.next_time();
  if (!next) return outbox_failed(next.error());
  const UtcTime asked = *next != kNever && *next - now > kClockWasSet ? *next : now;
  const auto waiting = outbox_.next(asked);
  if (!waiting) return outbox_failed(waiting.error());
  if (outbox_.unmarked() == 0) state_.trouble.clear();
  if (!*waiting) return until_next(now);
  settle(**waiting, attempt(**waiting));
  return Millis{0};
}

std::optional<Millis> NotifierStep::until_next(UtcTime now) {
  const auto next = outbox_.next_time();
  if (!next) return outbox_failed(next.error());
  if (*next == kNever) return std::nullopt;
  return std::clamp<Millis>(*next - now, Millis{1}, kClockWasSet);
}

Millis NotifierStep::outbox_failed(const Error& error) {
  state_.trouble = error.what;
  log::limited(log::Level::error, "outbox " + state_.name,
               fmt::format("the outbox of notifier {} cannot be used: {}", state_.name, error.what));
  not_before_ = clock_.steady() + kOutboxAgain;
  return kOutboxAgain;
}

Delivered NotifierStep::attempt(const WaitingAlert& alert) {
  ++state_.attempts;
  state_.last_attempt = clock_.utc();
  Delivered result = receiver_.deliver(with_lateness(alert.json, clock_.utc(), timezone_), kTimeLimitS);
  result.words = one_line(result.words);
  state_.last_words = result.words;
  return result;
}

void NotifierStep::settle(const WaitingAlert& alert, const Delivered& result) {
  const UtcTime now = clock_.utc();
  if (result.outcome == Outcome::retry) return later(alert, result, now);
  well();
  const bool done = result.outcome == Outcome::done;
  ++(done ? state_.done : state_.refused);
  if (!done)
    log::limited(log::Level::error, "refused " + state_.name,
                 fmt::format("notifier {} refused alert {}: {}", state_.name, alert.alert, result.words));
  const auto marked =
      done ? outbox_.done(alert.row, now, result.words) : outbox_.refused(alert.row, now, result.words);
  note_mark(marked);
  if (!done) hand_over(alert);
}

void NotifierStep::hand_over(const WaitingAlert& alert) {
  if (hand_over_) hand_over_(alert);
}

void NotifierStep::later(const WaitingAlert& alert, const Delivered& result, UtcTime now) {
  if (++state_.failures == 1) state_.failing_since = now;
  const Millis wait = backoff_.wait(state_.failures);
  not_before_ = clock_.steady() + wait;
  const bool give_up = too_old(alert, now);
  ++(give_up ? state_.given_up : state_.retried);
  log::limited(log::Level::warning, "later " + state_.name,
               fmt::format("notifier {} {} alert {}: {}", state_.name,
                           give_up ? "has given up" : "could not deliver", alert.alert, result.words));
  const auto marked = give_up
                          ? outbox_.give_up(alert.row, now, result.words)
                          : outbox_.retry(alert.row, now + backoff_.wait(alert.attempts + 1), result.words);
  note_mark(marked);
  if (!state_.stuck()) return;
  hand_over(alert);
  give_up_old(now);
}

void NotifierStep::give_up_old(UtcTime now) {
  for (;;) {
    const auto old = outbox_.next(now);
    if (!old || !*old || !too_old(**old, now)) return;
    ++state_.given_up;
    hand_over(**old);
    const auto marked = outbox_.give_up((*old)->row, now, state_.last_words);
    note_mark(marked);
    if (!marked) return;
  }
}

// The outbox remembers a mark that could not be written: delivering goes on.
void NotifierStep::note_mark(const Result<bool>& marked) {
  if (marked) return;
  state_.trouble = marked.error().what;
  log::limited(log::Level::error, "outbox " + state_.name,
               fmt::format("the outbox of notifier {} cannot be written: {}", state_.name, state_.trouble));
}

void NotifierStep::well() {
  state_.failures = 0;
  state_.failing_since = kNever;
  log::limited_over("later " + state_.name, fmt::format("notifier {} delivers again", state_.name));
}

Delivered NotifierStep::test(std::string_view alert_json) {
  Delivered result = receiver_.deliver(alert_json, kTimeLimitS);
  result.words = one_line(result.words, 2000);
  state_.tested = clock_.utc();
  state_.test_taken = result.outcome == Outcome::done;
  state_.test_words = result.words;
  return result;
}

}  // namespace coilward
