// The whole daemon, killed at random while numbered messages come in: every message that the broker
// acknowledged to the publisher is in the history once. The number is the reading's own time, in steps of 50
// ms.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <csignal>
#include <fstream>
#include <iostream>
#include <map>

#include "daemon/base/clock.h"
#include "daemon/config/config.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/state_directory.h"
#include "tests/kill/kill_run.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

constexpr int kZones = 8;
constexpr Millis kStep{50};

class DaemonSubject {
 public:
  explicit DaemonSubject(const Broker& broker) {
    std::ofstream file(config_file());
    file << "[site]\nid = \"kill\"\n[mqtt]\nurl = \"" << broker.url() << "\"\n[history]\ncommit_s = 1\n";
    for (int zone = 1; zone <= kZones; ++zone) file << "[[zone]]\nnumber = " << zone << "\n";
  }

  KillSubject subject() const {
    KillSubject subject;
    subject.site = "kill";
    subject.command = {
        COILWARD_BINARY_DIR "/bin/coilwardd", config_file(), "--state", state(), "--run", directory_ / "run"};
    subject.topic = [](std::uint64_t number) { return "coilward/kill/measure/" + channel(number); };
    subject.payload = [this](std::uint64_t number) {
      return fmt::format(R"([{{"n":"{}","t":{:.3f},"v":0.231,"u":"A"}}])", channel(number),
                         static_cast<double>(to_ms(time_of(number))) / 1000.0);
    };
    return subject;
  }

  // How many readings each number has in the history; empty while there is none to read.
  std::map<std::uint64_t, int> stored() const {
    std::map<std::uint64_t, int> found;
    const auto config = load_config(config_file());
    if (!config) throw std::runtime_error(config.error().what);
    auto reader = HistoryReader::open(history_path(state()), ChannelNames(*config));
    if (!reader) return found;
    for (std::uint8_t zone = 1; zone <= kZones; ++zone) {
      const auto read =
          reader->each_reading({ChannelKind::zone_current, zone}, start_, from_ms(to_ms(start_) + 7'200'000),
                               {}, [&](std::span<const Reading> readings) {
                                 for (const Reading& r : readings) ++found[number_of(r.time)];
                                 return true;
                               });
      if (!read) throw std::runtime_error(read.error().what);
    }
    return found;
  }

 private:
  static std::string channel(std::uint64_t number) {
    return fmt::format("zone/{}/current", number % kZones + 1);
  }
  UtcTime time_of(std::uint64_t number) const { return start_ + kStep * static_cast<std::int64_t>(number); }
  std::uint64_t number_of(UtcTime time) const { return static_cast<std::uint64_t>((time - start_) / kStep); }
  std::string config_file() const { return directory_ / "site.toml"; }
  std::string state() const { return directory_ / "state"; }

  TemporaryDirectory directory_;
  // Two hours back, so that a hundred thousand steps are all in the past.
  const UtcTime start_ =
      std::chrono::floor<std::chrono::seconds>(SystemClock().utc()) - std::chrono::hours(2);
};

TEST(DaemonKill, EveryAcknowledgedMessageIsStoredOnce) {
  BrokerOptions options;
  options.extra = "max_queued_messages 0\n";
  Broker broker(options);
  DaemonSubject daemon(broker);
  const KillPlan plan = kill_plan();
  ChildProcess process;
  const KillSubject subject = daemon.subject();
  const KillReport report = run_kills(broker, subject, plan, process);
  ASSERT_EQ(report.acknowledged, plan.messages) << "seed " << plan.seed;
  EXPECT_TRUE(
      becomes_true([&] { return daemon.stored().size() >= plan.messages; }, std::chrono::seconds(60)));
  EXPECT_EQ(process.end(SIGTERM), 0);
  const auto stored = daemon.stored();
  std::uint64_t missing = 0, twice = 0;
  for (std::uint64_t number = 1; number <= plan.messages; ++number) {
    const auto found = stored.find(number);
    if (found == stored.end()) ++missing;
    if (found != stored.end() && found->second != 1) ++twice;
  }
  EXPECT_EQ(missing, 0u) << "seed " << plan.seed;
  EXPECT_EQ(twice, 0u) << "seed " << plan.seed;
  EXPECT_EQ(stored.size(), plan.messages);
  std::cout << plan.messages << " messages, " << report.kills << " kills (" << report.killed_while_connecting
            << " while connecting), " << stored.size() << " stored, " << missing << " missing, " << twice
            << " twice, " << report.seconds << " s\n";
}

}  // namespace
}  // namespace coilward
