// Each notifier, with each trouble on its other side and after it is over, and killed between "taken" and our
// note of it: nothing is lost, and what comes twice comes twice at most and has the same id. Prints what it
// counted.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>

#include "daemon/delivery/notifier_step.h"
#include "daemon/delivery/plugin_receiver.h"
#include "daemon/delivery/store_outbox.h"
#include "daemon/history/state_store.h"
#include "daemon/host/plugin_host.h"
#include "tests/delivery/receiving_ends.h"
#include "tests/support/child_process.h"

namespace coilward {
namespace {

constexpr const char* kName = "way";
constexpr double kShortS = 0.8;

struct Count {
  int attempts = 0, taken = 0, refused = 0;
  std::string words;  // of the first attempt
  int lost() const { return taken == 0 && refused == 0 ? 1 : 0; }
  int twice() const { return std::max(0, taken - 1); }
};

// Gives the other side less than the daemon's ten seconds, so that tests that wait for it are quick.
class Impatient final : public Receiver {
 public:
  explicit Impatient(std::unique_ptr<Receiver> to) : to_(std::move(to)) {}
  Delivered deliver(std::string_view json, double timeout_s) override {
    return to_->deliver(json, std::min(timeout_s, limit_s));
  }
  void interrupt() override { to_->interrupt(); }
  double limit_s = kTimeLimitS;

 private:
  std::unique_ptr<Receiver> to_;
};

class Faults : public testing::TestWithParam<const char*> {
 protected:
  Faults() : end(receiving_end(GetParam())) {
    state = StateStore::open(path, "juniper-row-12");
    EXPECT_TRUE(state);
  }
  std::string queue(UtcTime now) {
    const std::string id = fmt::format("20260504-061209-z4-open_circuit.opened.{}", ++alerts);
    const auto json = nlohmann::json{{"id", id},
                                     {"kind", "opened"},
                                     {"severity", "urgent"},
                                     {"site_name", "Juniper Row 12"},
                                     {"subject", "S"},
                                     {"text", "T\n"},
                                     {"findings", nlohmann::json::array()}};
    const std::vector<OutboxRow> rows = {{id, kName, json.dump(), now}};
    EXPECT_TRUE(state->commit({.now = now, .outbox = rows}));
    return id;
  }
  std::unique_ptr<Receiver> receiver() {
    static PluginHost host(COILWARD_BINARY_DIR "/plugins");
    auto notifier = host.notifier(end->plugin(), end->settings(), {});
    if (!notifier) throw std::runtime_error(notifier.error().what);
    return std::make_unique<NotifierReceiver>(std::move(*notifier));
  }
  std::unique_ptr<SpareOutbox> outbox() {
    return std::make_unique<SpareOutbox>(
        std::make_unique<StoreOutbox>(std::move(*Outbox::open(path)), path, kName));
  }
  Count through(Trouble trouble);
  Count killed();
  void note(std::string_view trouble, const Count& count) {
    fmt::print("{:8} {:10} attempts {}  taken {}  refused {}  lost {}  twice {}  {}\n", GetParam(), trouble,
               count.attempts, count.taken, count.refused, count.lost(), count.twice(), count.words);
  }

  std::unique_ptr<ReceivingEnd> end;
  TemporaryDirectory directory;
  std::string path = directory / "state.db";
  Result<StateStore> state = Error{Cause::world, ""};
  FakeClock clock{SystemClock().utc()};
  int alerts = 0;
};

// Nothing waits in real time: the clock is moved to the next attempt.
Count Faults::through(Trouble trouble) {
  Count count;
  const std::string id = queue(clock.utc());
  Impatient to(receiver());
  const auto from = outbox();
  NotifierStep step(kName, end->plugin(), "UTC", to, *from, clock, 1);
  end->set(trouble);
  if (trouble == Trouble::hang) to.limit_s = kShortS;
  step.step();
  to.limit_s = kTimeLimitS;
  count.words = step.state().last_words;
  EXPECT_EQ(step.state().done, 0u) << count.words;
  end->set(Trouble::none);
  for (int turn = 0; turn < 40 && step.state().done + step.state().refused == 0; ++turn)
    clock.advance(step.step().value_or(Millis{1000}));
  count.attempts = static_cast<int>(step.state().attempts);
  count.refused = static_cast<int>(step.state().refused);
  if (count.refused == 0)
    for (const std::string& taken : end->taken()) count.taken += taken == id;
  return count;
}

Count Faults::killed() {
  Count count;
  const std::string id = queue(SystemClock().utc());
  const std::string settings = directory / "settings.json";
  std::ofstream(settings) << end->settings().dump();
  const std::vector<std::string> command = {COILWARD_DELIVER, path, kName, end->plugin(), settings};
  auto deadly = command;
  deadly.push_back("kill");
  EXPECT_NE(run_to_end(deadly, directory / "log"), 0);
  EXPECT_EQ(run_to_end(command, directory / "log"), 0) << coilward_plugins::file_text(directory / "log");
  count.attempts = 2;
  while (count.taken < 2) {
    const auto taken = end->taken();
    if (taken.empty()) break;
    for (const std::string& one : taken) count.taken += one == id;
  }
  EXPECT_EQ(Outbox::open(path)->counts(kName)->pending, 0u);
  return count;
}

TEST_P(Faults, NothingIsLostAndAtMostOneComesTwice) {
  for (const Trouble trouble : kTroubles) {
    if (!end->can(trouble)) continue;
    const Count count = through(trouble);
    note(trouble_name(trouble), count);
    EXPECT_EQ(count.lost(), 0) << trouble_name(trouble);
    EXPECT_EQ(count.twice(), 0) << trouble_name(trouble);
    EXPECT_NE(count.words, "");
  }
  const Count count = killed();
  note("kill -9", count);
  EXPECT_EQ(count.lost(), 0);
  EXPECT_LE(count.twice(), 1);
}

INSTANTIATE_TEST_SUITE_P(EachNotifier, Faults,
                         testing::Values("email", "webhook", "webpush", "mqtt", "command"),
                         [](const auto& each) { return std::string(each.param); });

}  // namespace
}  // namespace coilward
