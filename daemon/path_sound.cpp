#include "daemon/path_sound.h"

#include <fmt/format.h>

namespace coilward {

std::string not_sound(const PathSigns& signs, const HeartbeatConfig& config) {
  if (!signs.broker) return "the broker is not connected";
  if (!measured(signs.reading_age_s)) return "no reading has come yet";
  if (signs.reading_age_s > config.readings_s)
    return fmt::format("the last reading came {:.0f} s ago", signs.reading_age_s);
  if (!signs.clock) return "the clock is not set";
  if (!measured(signs.caught_up_age_s) || signs.caught_up_age_s > kDiagnosisHangs_s)
    return "the diagnosis is behind the readings";
  if (!signs.store) return "nothing can be recorded";
  if (signs.commit_age_s > kStoreHangs_s) return "the store does not write";
  if (!signs.failing_notifier.empty())
    return fmt::format("messages by {} do not get through", signs.failing_notifier);
  if (signs.outbox_age_s > kOutboxStuck_s) return "messages wait in the outbox";
  return {};
}

}  // namespace coilward
