#include "daemon/delivery/exporter_step.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/alerts/wording.h"
#include "daemon/base/log.h"

namespace coilward {

ExporterStep::ExporterStep(std::string name, std::string plugin, Receiver& receiver, BatchSource& source,
                           const Clock& clock, std::uint64_t seed)
    : receiver_(receiver), source_(source), clock_(clock), backoff_(seed) {
  state_.name = std::move(name);
  state_.plugin = std::move(plugin);
}

Millis ExporterStep::step() {
  if (const auto left = not_before_ - clock_.steady(); left.count() > 0)
    return std::chrono::ceil<Millis>(left);
  const auto batch = source_.next(clock_.utc());
  if (!batch) return source_failed(batch.error());
  state_.trouble.clear();
  if (!*batch) return until_next(clock_.utc());
  ++state_.attempts;
  state_.last_attempt = clock_.utc();
  Delivered result = receiver_.deliver((*batch)->json, kBatchTimeLimitS);
  result.words = one_line(result.words);
  state_.last_words = result.words;
  return settle(**batch, result);
}

Millis ExporterStep::until_next(UtcTime now) {
  const UtcTime next = source_.next_time(now);
  return next == kNever ? kLookAgain : std::clamp<Millis>(next - now, std::chrono::seconds{1}, kLookAgain);
}

Millis ExporterStep::source_failed(const Error& error) {
  state_.trouble = error.what;
  log::limited(log::Level::error, "export " + state_.name,
               fmt::format("exporter {} has no access to the history: {}", state_.name, error.what));
  not_before_ = clock_.steady() + kLookAgain;
  return kLookAgain;
}

Millis ExporterStep::settle(const ExportBatch& batch, const Delivered& result) {
  if (result.outcome == Outcome::retry) return later(batch, result);
  const bool done = result.outcome == Outcome::done;
  ++(done ? state_.done : state_.refused);
  if (!done)
    log::limited(log::Level::error, "refused " + state_.name,
                 fmt::format("exporter {} refused batch {}: {}", state_.name, batch.id, result.words));
  state_.failures = 0;
  state_.failing_since = kNever;
  log::limited_over("later " + state_.name, fmt::format("exporter {} goes on", state_.name));
  const auto marked = source_.taken(batch);
  return marked ? Millis{0} : source_failed(marked.error());
}

Millis ExporterStep::later(const ExportBatch& batch, const Delivered& result) {
  if (++state_.failures == 1) state_.failing_since = clock_.utc();
  ++state_.retried;
  log::limited(log::Level::warning, "later " + state_.name,
               fmt::format("exporter {} could not take batch {}: {}", state_.name, batch.id, result.words));
  const Millis wait = backoff_.wait(state_.failures);
  not_before_ = clock_.steady() + wait;
  return wait;
}

}  // namespace coilward
