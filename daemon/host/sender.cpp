#include "daemon/host/sender.h"

#include <fmt/format.h>

#include "daemon/host/foreign_text.h"
#include "daemon/host/running_plugin.h"

namespace coilward {
namespace {

// A plugin may say things in several pieces.
void keep_words(void* sink, coilward_text words) noexcept {
  auto& all = *static_cast<std::string*>(sink);
  if (all.size() < kMostWords) all += foreign_text(words, kMostWords - all.size());
}

SendReply reply_of(int outcome, std::string words) {
  switch (outcome) {
    case COILWARD_DONE:
      return {SendOutcome::done, std::move(words)};
    case COILWARD_RETRY:
      return {SendOutcome::retry, std::move(words)};
    case COILWARD_REFUSED:
      return {SendOutcome::refused, std::move(words)};
    default:
      return {SendOutcome::retry,
              fmt::format("the plugin answered {}, which is no outcome; it said: {}", outcome, words)};
  }
}

}  // namespace

SendReply Notifier::deliver(std::string_view alert_json, double timeout_s) {
  std::string words;
  const auto& call = object_.functions<coilward_notifier>();
  const RunningPlugin blamed(object_.name().c_str());
  const int outcome = call.deliver(object_.self(), text(alert_json), timeout_s, keep_words, &words);
  return reply_of(outcome, std::move(words));
}

void Notifier::interrupt() { object_.functions<coilward_notifier>().interrupt(object_.self()); }

SendReply Exporter::store(std::string_view batch_json, double timeout_s) {
  std::string words;
  const auto& call = object_.functions<coilward_exporter>();
  const RunningPlugin blamed(object_.name().c_str());
  const int outcome = call.store(object_.self(), text(batch_json), timeout_s, keep_words, &words);
  return reply_of(outcome, std::move(words));
}

void Exporter::interrupt() { object_.functions<coilward_exporter>().interrupt(object_.self()); }

}  // namespace coilward
