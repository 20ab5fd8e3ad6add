// A look-up of the broker's name that cannot be ended (facts F10) holds up neither a stop nor a reload.
#include "daemon/base/clock.h"
#include "tests/process/one_zone.h"

namespace coilward {
namespace {

using Steady = std::chrono::steady_clock;

struct StuckSite {
  DaemonProcess daemon{site_toml("mqtt://broker.stuck")};

  // Started, and its look-up hangs.
  bool hangs() {
    const std::string seen = daemon.state() + ".seen";
    daemon.start({}, {"LD_PRELOAD=" STUCK_LOOKUP, "STUCK_LOOKUP_SEEN=" + seen,
                      "ASAN_OPTIONS=verify_asan_link_order=0"});
    return daemon.ready() && becomes_true([&] { return std::filesystem::exists(seen); });
  }
};

TEST(StuckLookup, DoesNotHoldUpAStop) {
  StuckSite site;
  ASSERT_TRUE(site.hangs()) << site.daemon.log();
  const auto asked = Steady::now();
  EXPECT_EQ(site.daemon.process().end(SIGTERM, std::chrono::seconds(30)), 0) << site.daemon.log();
  EXPECT_LT(Steady::now() - asked, std::chrono::seconds(5)) << site.daemon.log();
}

TEST(StuckLookup, DoesNotHoldUpAReload) {
  Broker broker;
  StuckSite site;
  ASSERT_TRUE(site.hangs()) << site.daemon.log();
  site.daemon.write(site_toml(broker.url()));
  site.daemon.process().signal(SIGHUP);
  ASSERT_TRUE(site.daemon.ready(2)) << site.daemon.log();
  ASSERT_TRUE(becomes_true([&] { return site.daemon.told.count("STATUS=watching") > 0; }))
      << site.daemon.log();
  const auto publisher = sensor(broker);
  ASSERT_TRUE(publisher->publish(kTopic, "0.25"));
  ASSERT_TRUE(publisher->flush());
  EXPECT_TRUE(becomes_true([&] { return kept_readings(site.daemon).size() == 1; })) << site.daemon.log();
  EXPECT_EQ(site.daemon.process().end(SIGTERM), 0) << site.daemon.log();
}

}  // namespace
}  // namespace coilward
