// SIGTERM is answered within five seconds whatever the broker does, and the service manager hears signs of
// life until then.
#include <arpa/inet.h>
#include <netinet/in.h>

#include "tests/process/daemon_process.h"
#include "tests/support/broker.h"

namespace coilward {
namespace {

using std::chrono::seconds;
using Steady = std::chrono::steady_clock;

constexpr seconds kGone{5};

void expect_quick_end(DaemonProcess& daemon) {
  const auto asked = Steady::now();
  EXPECT_EQ(daemon.process().end(SIGTERM, seconds(30)), 0) << daemon.log();
  EXPECT_LT(Steady::now() - asked, kGone) << daemon.log();
  EXPECT_EQ(daemon.told.count("STOPPING=1"), 1);
}

TEST(Stop, WhileConnected) {
  Broker broker;
  DaemonProcess daemon(site_toml(broker.url()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  EXPECT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  expect_quick_end(daemon);
  EXPECT_FALSE(std::filesystem::exists(daemon.run() + "/coilward.sock"));
}

TEST(Stop, WhileTheBrokerIsSilent) {
  Broker broker;
  broker.freeze();
  DaemonProcess daemon(site_toml(broker.url()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  expect_quick_end(daemon);
}

TEST(Stop, AfterTheBrokerFellSilent) {
  Broker broker;
  DaemonProcess daemon(site_toml(broker.url()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  ASSERT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  broker.freeze();
  expect_quick_end(daemon);
}

class StopTest : public testing::TestWithParam<const char*> {};

TEST_P(StopTest, WhileThereIsNoBroker) {
  DaemonProcess daemon(site_toml(GetParam()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  expect_quick_end(daemon);
}

// Refused; a network that must not be routed (RFC 5737); a name that cannot be (RFC 6761).
INSTANTIATE_TEST_SUITE_P(All, StopTest,
                         testing::Values("mqtt://127.0.0.1:1", "mqtt://192.0.2.1:1883",
                                         "mqtts://broker.invalid"));

TEST(Stop, AtOnceAfterTheStart) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start();
  ASSERT_TRUE(becomes_true([&] { return std::filesystem::exists(daemon.state()); }));
  const auto asked = Steady::now();
  const int status = daemon.process().end(SIGTERM, seconds(30));
  EXPECT_TRUE(status == 0 || status == -SIGTERM) << status;  // the latter: before it could listen to signals
  EXPECT_LT(Steady::now() - asked, kGone);
}

TEST(Stop, CtrlCIsTheSame) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  EXPECT_EQ(daemon.process().end(SIGINT, seconds(30)), 0);
}

TEST(SignsOfLife, ComeWhileTheLoopsTurn) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  EXPECT_TRUE(becomes_true([&] { return daemon.told.count("WATCHDOG=1") >= 3; }));
}

TEST(SignsOfLife, EndWhenTheProcessStandsStill) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start();
  ASSERT_TRUE(becomes_true([&] { return daemon.told.count("WATCHDOG=1") >= 1; }));
  daemon.process().signal(SIGSTOP);
  int before = -1;
  ASSERT_TRUE(becomes_true([&] { return std::exchange(before, daemon.told.count("WATCHDOG=1")) == before; }));
  EXPECT_FALSE(becomes_true([&] { return daemon.told.count("WATCHDOG=1") > before; }, seconds(3)));
  daemon.process().signal(SIGCONT);
  EXPECT_TRUE(becomes_true([&] { return daemon.told.count("WATCHDOG=1") > before; }));
}

}  // namespace
}  // namespace coilward
