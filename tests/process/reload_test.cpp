// SIGHUP: a good configuration is taken over without losing a message, a wrong one changes nothing.
#include <fmt/format.h>

#include <map>

#include "daemon/base/clock.h"
#include "tests/process/one_zone.h"

namespace coilward {
namespace {

// Reading number i, with a time of its own so that none can stand for another.
std::string payload(UtcTime start, int i) {
  return fmt::format(R"([{{"n":"zone/1/current","u":"A","v":{},"t":{:.3f}}}])", 0.001 * (i % 500),
                     static_cast<double>(to_ms(start)) / 1000 + 0.25 * i);
}

// How often each reading number is in the history.
std::map<int, int> kept(const DaemonProcess& daemon, UtcTime start) {
  std::map<int, int> numbers;
  for (const Reading& reading : kept_readings(daemon))
    ++numbers[static_cast<int>((reading.time - start).count() / 250)];
  return numbers;
}

// "12-40 99-99": those below `sent` that are not there.
std::string missing(const std::map<int, int>& numbers, int sent) {
  std::string text;
  for (int i = 0; i < sent; ++i) {
    if (numbers.contains(i)) continue;
    const int from = i;
    while (i + 1 < sent && !numbers.contains(i + 1)) ++i;
    text += fmt::format("{}-{} ", from, i);
  }
  return text;
}

// The queue that config/mosquitto.conf sets. With the broker's own limit of 1000 it is the broker that drops
// what comes while the daemon is away for longer than this test's first rounds.
BrokerOptions as_shipped() {
  BrokerOptions options;
  options.extra = "max_queued_messages 100000\nmax_queued_bytes 33554432\n";
  return options;
}

struct Site {
  Broker broker{as_shipped()};
  DaemonProcess daemon{site_toml(broker.url())};
  Site() {
    daemon.start();
    EXPECT_TRUE(daemon.ready()) << daemon.log();
    EXPECT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  }
};

TEST(Reload, AWrongConfigurationChangesNothing) {
  Site site;
  site.daemon.write(site_toml(site.broker.url(), "awg = 1800\n"));
  site.daemon.process().signal(SIGHUP);
  ASSERT_TRUE(site.daemon.ready(2)) << site.daemon.log();
  EXPECT_EQ(site.daemon.told.count("RELOADING=1"), 1);
  EXPECT_GE(site.daemon.told.count("MONOTONIC_USEC="), 1);
  EXPECT_TRUE(site.daemon.says("zone.awg: found 1800")) << site.daemon.log();
  const UtcTime start = SystemClock().utc() - std::chrono::minutes(5);
  const auto publisher = sensor(site.broker);
  ASSERT_TRUE(publisher->publish(kTopic, payload(start, 0)));
  ASSERT_TRUE(publisher->flush());
  site.daemon.write(site_toml(site.broker.url()));
  EXPECT_TRUE(becomes_true([&] { return kept(site.daemon, start).size() == 1; })) << site.daemon.log();
}

TEST(Reload, AWrongPluginKeyChangesNothing) {
  Site site;
  site.daemon.write(
      site_toml(site.broker.url(), "[[notifier]]\nname = \"n\"\nplugin = \"command\"\nrum = [\"x\"]\n"));
  site.daemon.process().signal(SIGHUP);
  ASSERT_TRUE(site.daemon.ready(2)) << site.daemon.log();
  EXPECT_TRUE(site.daemon.process().running());
}

TEST(Reload, AGoodOneIsInForceAfterwards) {
  Site site;
  site.daemon.write(site_toml(site.broker.url(), "[[zone]]\nnumber = 2\n"));
  site.daemon.process().signal(SIGHUP);
  ASSERT_TRUE(site.daemon.ready(2)) << site.daemon.log();
  EXPECT_TRUE(site.daemon.says("watching 2 zones")) << site.daemon.log();
  EXPECT_EQ(site.daemon.process().end(SIGTERM), 0);
}

// Whenever it comes, also while one daemon of the process gives way to the next.
TEST(Reload, ASignalAtAnyMomentIsTaken) {
  Site site;
  for (int i = 0; i < 40; ++i) {
    site.daemon.process().signal(SIGHUP);
    const int told = site.daemon.told.count("STOPPING=1");
    becomes_true([&] { return site.daemon.told.count("STOPPING=1") > told; }, std::chrono::milliseconds(i));
  }
  site.daemon.process().signal(SIGTERM);
  EXPECT_EQ(site.daemon.ends(), 0) << site.daemon.log();
}

// Good and wrong ones in turn, under load: every message that the broker took is kept once.
TEST(Reload, LosesNothing) {
  Site site;
  const auto publisher = sensor(site.broker);
  const UtcTime start = SystemClock().utc() - std::chrono::minutes(30);
  int sent = 0, readies = 1;
  for (int round = 0; round < 10; ++round) {
    const bool good = round % 2 == 0;
    site.daemon.write(site_toml(site.broker.url(), good ? "" : "valves = 99\n"));
    site.daemon.process().signal(SIGHUP);
    for (int i = 0; i < 300; ++i, ++sent) ASSERT_TRUE(publisher->publish(kTopic, payload(start, sent)));
    ASSERT_TRUE(site.daemon.ready(++readies)) << site.daemon.log();
  }
  ASSERT_TRUE(publisher->flush());
  site.daemon.write(site_toml(site.broker.url()));
  becomes_true([&] { return missing(kept(site.daemon, start), sent).empty(); }, std::chrono::seconds(30));
  EXPECT_EQ(site.daemon.process().end(SIGTERM), 0);
  const auto numbers = kept(site.daemon, start);
  EXPECT_EQ(missing(numbers, sent), "") << site.daemon.log() << site.broker.log();
  for (const auto& [number, times] : numbers) EXPECT_EQ(times, 1) << number;
}

}  // namespace
}  // namespace coilward
