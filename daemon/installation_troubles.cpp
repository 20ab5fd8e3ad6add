#include "daemon/installation_troubles.h"

#include <fmt/format.h>

namespace coilward {
namespace {

using Fields = std::vector<std::pair<std::string, std::string>>;

// One trouble for one cause: while the broker is away nothing else is said of what comes through it.
void through_the_broker(const InstallationSigns& signs, UtcTime now, std::vector<SiteTrouble>& list) {
  const BrokerState& broker = signs.broker;
  if (!broker.connected) return list.push_back({"broker", Severity::soon, {{"why", broker.why}}});
  if (broker.id_contested) list.push_back({"client_id", Severity::soon, {}});
  if (!broker.refused.empty())
    return list.push_back({"refused", Severity::soon, {{"topics", broker.refused}}});
  if (signs.lost_lately > 0) return;  // they are heard, and there is no room for what they say
  const UtcTime listened = std::max(signs.silence.heard, broker.since);
  const double limit_s = measured(signs.silence.unusual_s) ? signs.silence.unusual_s
                         : signs.silence.heard == kNever   ? kNeverHeard_s
                                                           : kNotMeasured;
  if (measured(limit_s) && listened != kNever && seconds_between(listened, now) > limit_s)
    list.push_back({"sensors", Severity::soon, {}});
}

void to_people(const InstallationSigns& signs, std::vector<SiteTrouble>& list) {
  bool failing = false;
  for (const DeliveryState& state : signs.notifiers) {
    failing = failing || state.stuck() || !state.trouble.empty();
    if (state.stuck())
      list.push_back(
          {"outbox " + state.name,
           Severity::soon,
           {{"notifier", state.name}, {"count", std::to_string(state.failures)}, {"why", state.last_words}}});
    else if (!state.trouble.empty())
      list.push_back(
          {"unread " + state.name, Severity::soon, {{"notifier", state.name}, {"why", state.trouble}}});
  }
  if (!failing && signs.outbox_age_s > kOutboxWaits_s)
    list.push_back(
        {"waiting", Severity::soon, {{"minutes", fmt::format("{:.0f}", signs.outbox_age_s / 60)}}});
}

}  // namespace

std::vector<SiteTrouble> troubles_of(const InstallationSigns& signs, UtcTime now) {
  std::vector<SiteTrouble> list;
  through_the_broker(signs, now, list);
  if (!signs.store.empty()) list.push_back({"disk", Severity::soon, {{"why", signs.store}}});
  if (signs.clock_unsure) list.push_back({"clock", Severity::watch, {}});
  if (signs.lost_lately > 0)
    list.push_back({"spool", Severity::soon, {{"count", std::to_string(signs.lost_lately)}}});
  to_people(signs, list);
  if (!signs.certificate.empty())
    list.push_back({"certificate", Severity::soon, {{"why", signs.certificate}}});
  if (!signs.reload.empty()) list.push_back({"reload", Severity::soon, {{"why", signs.reload}}});
  return list;
}

}  // namespace coilward
