#include "daemon/installation_watch.h"

#include <algorithm>

namespace coilward {
namespace {

using namespace std::chrono_literals;

// A spool that has lost nothing for so long has room again (own choice).
constexpr auto kRoomAgain = 1min;
// How old the outbox is takes reading a file.
constexpr auto kOutboxLook = 60s;

}  // namespace

InstallationWatch::InstallationWatch(Parts parts)
    : parts_(parts),
      heartbeat_(parts.config, parts.clock, [this](const std::string& topic, const std::string& text) {
        parts_.broker.publish(topic, text, false);
      }) {}

void InstallationWatch::look() {
  parts_.site.troubles(troubles_of(signs(), parts_.clock.utc()));
  heartbeat_.tick([this] { return path_signs(); });
}

InstallationSigns InstallationWatch::signs() {
  InstallationSigns signs;
  signs.broker = parts_.broker.state();
  signs.silence = parts_.site.silence();
  signs.store = parts_.keeper.health().trouble;
  signs.clock_unsure = parts_.broker.time_unsure();
  signs.notifiers = parts_.delivery.states();
  if (const auto now = parts_.clock.steady(); now >= next_outbox_look_) {
    next_outbox_look_ = now + kOutboxLook;
    outbox_age_s_ = outbox_age_s();
  }
  signs.outbox_age_s = outbox_age_s_;
  signs.lost_lately = lost_lately();
  signs.certificate = parts_.door.certificate_trouble();
  signs.reload = reload_;
  return signs;
}

std::uint64_t InstallationWatch::lost_lately() {
  const UtcTime now = parts_.clock.utc();
  if (const std::uint64_t lost = parts_.broker.lost(); lost > lost_) {
    lost_ = lost;
    lost_at_ = now;
  }
  if (lost_at_ == kNever || now - lost_at_ > kRoomAgain) lost_before_ = lost_;
  return lost_ - lost_before_;
}

double InstallationWatch::outbox_age_s() const {
  const UtcTime oldest = parts_.delivery.oldest_waiting();
  return oldest == kNever ? 0 : std::max(0.0, seconds_between(oldest, parts_.clock.utc()));
}

PathSigns InstallationWatch::path_signs() const {
  const auto age = [this](std::chrono::steady_clock::time_point then) {
    if (then == std::chrono::steady_clock::time_point{}) return kNotMeasured;
    return std::chrono::duration<double>(parts_.clock.steady() - then).count();
  };
  PathSigns signs;
  signs.broker = parts_.broker.state().connected;
  signs.reading_age_s = age(parts_.site.last_reading());
  signs.caught_up_age_s = age(parts_.site.caught_up());
  const KeeperHealth kept = parts_.keeper.health();
  signs.store = kept.history_ok && kept.state_ok;
  signs.commit_age_s = parts_.vitals.waiting_s();
  for (const DeliveryState& state : parts_.delivery.states())
    if (state.stuck() || !state.trouble.empty()) signs.failing_notifier = state.name;
  signs.outbox_age_s = outbox_age_s();
  signs.clock = !parts_.broker.time_unsure();
  return signs;
}

std::vector<HealthStage> InstallationWatch::health() const {
  std::vector<HealthStage> list;
  const auto broker = parts_.broker.state();
  list.push_back({"broker", broker.connected, broker.why, broker.since});
  list.push_back({"sensors", broker.heard_lately,
                  broker.heard_lately ? "" : "connected, and no message yet or for ten minutes", kNever});
  const KeeperHealth kept = parts_.keeper.health();
  const auto add_file = [&](const char* name, bool ok) {
    list.push_back({name, ok, ok ? "" : kept.trouble, ok ? kNever : kept.since});
  };
  add_file("history", kept.history_ok);
  add_file("state", kept.state_ok);
  const bool unsure = parts_.broker.time_unsure();
  list.push_back({"clock", !unsure, unsure ? "not set yet" : "", kNever});
  parts_.door.add_health(list);
  parts_.delivery.add_health(list);
  return list;
}

}  // namespace coilward
