// A process of client and spool alone, killed at random: what the broker acknowledged to the publisher is
// stored, and a second copy of anything carries the DUP flag, so that it can be told apart.
#include <gtest/gtest.h>

#include <csignal>
#include <fstream>
#include <iostream>
#include <map>

#include "daemon/mqtt/publisher.h"
#include "tests/kill/kill_run.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

constexpr const char* kSite = "kill";

struct StoredCopies {
  int copies = 0;
  int marked_duplicate = 0;
};

std::map<std::uint64_t, StoredCopies> read_store(const std::string& path) {
  std::map<std::uint64_t, StoredCopies> found;
  std::ifstream in(path);
  std::uint64_t sequence = 0, number = 0;
  for (int duplicate = 0; in >> sequence >> duplicate >> number;) {
    ++found[number].copies;
    found[number].marked_duplicate += duplicate;
  }
  return found;
}

KillSubject keeper(Broker& broker, const TemporaryDirectory& directory) {
  KillSubject subject;
  subject.site = kSite;
  subject.command = {COILWARD_SPOOL_KEEPER, broker.url(), kSite, directory / "spool", directory / "store"};
  subject.topic = [](std::uint64_t) { return "coilward/kill/measure/zone/1/current"; };
  subject.payload = [](std::uint64_t number) { return std::to_string(number); };
  return subject;
}

BrokerOptions patient_broker() {
  BrokerOptions options;
  options.extra =
      "max_queued_messages 0\n";  // no limit; the default of 1000 drops messages of a client that is away
  return options;
}

TEST(SpoolKill, NothingAcknowledgedIsLost) {
  Broker broker(patient_broker());
  TemporaryDirectory directory;
  ChildProcess process;
  const KillPlan plan = kill_plan();
  const KillReport report = run_kills(broker, keeper(broker, directory), plan, process);
  ASSERT_EQ(report.acknowledged, plan.messages) << "seed " << plan.seed;
  const std::string store = directory / "store";
  EXPECT_TRUE(
      becomes_true([&] { return read_store(store).size() >= plan.messages; }, std::chrono::seconds(60)));
  EXPECT_EQ(process.end(SIGTERM), 0);
  std::uint64_t missing = 0, again = 0, unmarked = 0;
  const auto stored = read_store(store);
  for (std::uint64_t number = 1; number <= plan.messages; ++number) {
    const auto found = stored.find(number);
    if (found == stored.end()) {
      ++missing;
      continue;
    }
    again += static_cast<std::uint64_t>(found->second.copies - 1);
    if (found->second.copies - 1 > found->second.marked_duplicate) ++unmarked;
  }
  EXPECT_EQ(missing, 0u) << "seed " << plan.seed;
  EXPECT_EQ(unmarked, 0u) << "seed " << plan.seed;
  std::cout << plan.messages << " messages, " << report.kills << " kills (" << report.killed_while_connecting
            << " while connecting), " << again << " delivered again, " << report.seconds << " s\n";
}

TEST(SpoolKill, BetweenArrivalAndAcknowledgement) {
  Broker broker(patient_broker());
  TemporaryDirectory directory;
  KillSubject subject = keeper(broker, directory);
  std::vector<std::string> dying = subject.command;
  dying.push_back("die-on-arrival");
  ChildProcess process(dying, directory / "log");
  ASSERT_TRUE(comes_online(broker, kSite));
  MqttConfig config;
  config.url = broker.url();
  auto publisher = Publisher::connect(config);
  ASSERT_TRUE(publisher);
  ASSERT_TRUE((*publisher)->publish(subject.topic(1), subject.payload(1)));
  ASSERT_TRUE((*publisher)->flush());
  ASSERT_TRUE(becomes_true([&] { return !process.running(); }));
  ASSERT_TRUE(read_store(directory / "store").empty());
  process = ChildProcess(subject.command, directory / "log");
  // Once from the spool of the dead process, once more from the broker, which never got its acknowledgement.
  EXPECT_TRUE(becomes_true([&] { return read_store(directory / "store")[1].copies == 2; }));
  EXPECT_EQ(read_store(directory / "store")[1].marked_duplicate, 1);
  EXPECT_EQ(process.end(SIGTERM), 0);
}

}  // namespace
}  // namespace coilward
