// One attempt at what waits in an outbox, as the daemon's runner makes it. With "kill" the process is killed,
// by SIGKILL, when the other side has taken the alert and before that is written down.
//
// deliver STATE_DB NOTIFIER PLUGIN SETTINGS_JSON_FILE [kill]
#include <csignal>
#include <cstdio>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>

#include "daemon/delivery/notifier_step.h"
#include "daemon/delivery/plugin_receiver.h"
#include "daemon/delivery/store_outbox.h"
#include "daemon/host/plugin_host.h"

namespace coilward {
namespace {

class DeadlyOutbox final : public OutboxSource {
 public:
  DeadlyOutbox(StoreOutbox outbox, bool kill) : outbox_(std::move(outbox)), kill_(kill) {}
  Result<std::optional<WaitingAlert>> next(UtcTime now) override { return outbox_.next(now); }
  Result<UtcTime> next_time() override { return outbox_.next_time(); }
  Result<bool> done(std::int64_t row, UtcTime now, const std::string& words) override {
    if (kill_) ::raise(SIGKILL);
    return outbox_.done(row, now, words);
  }
  Result<bool> retry(std::int64_t row, UtcTime next, const std::string& words) override {
    return outbox_.retry(row, next, words);
  }
  Result<bool> refused(std::int64_t row, UtcTime now, const std::string& words) override {
    return outbox_.refused(row, now, words);
  }
  Result<bool> give_up(std::int64_t row, UtcTime now, const std::string& words) override {
    return outbox_.give_up(row, now, words);
  }

 private:
  StoreOutbox outbox_;
  const bool kill_;
};

int deliver(int count, char** words) {
  if (count < 5) return 2;
  const std::string state = words[1], name = words[2], plugin = words[3];
  PluginHost host(COILWARD_BINARY_DIR "/plugins");
  auto notifier = host.notifier(plugin, nlohmann::ordered_json::parse(std::ifstream(words[4])), {});
  auto table = Outbox::open(state);
  if (!notifier || !table) {
    std::fprintf(stderr, "%s\n", (notifier ? table.error() : notifier.error()).what.c_str());
    return 1;
  }
  const SystemClock clock;
  NotifierReceiver receiver(std::move(*notifier));
  SpareOutbox outbox(std::make_unique<DeadlyOutbox>(StoreOutbox(std::move(*table), state, name), count > 5));
  NotifierStep step(name, plugin, "UTC", receiver, outbox, clock, 1);
  step.step();
  return step.state().done == 1 ? 0 : 1;
}

}  // namespace
}  // namespace coilward

int main(int count, char** words) { return coilward::deliver(count, words); }
