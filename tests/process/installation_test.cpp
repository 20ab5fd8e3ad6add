// What fails of the installation itself is told to whoever looks after it, and when it is well again; never
// to someone who can only read it as a fault of a valve. Each is really made to fail.
#include "tests/process/watched_site.h"

namespace coilward {
namespace {

using std::chrono::seconds;

class Installation : public WatchedSite {
 protected:
  void TearDown() override { EXPECT_EQ(texts(kAna), "") << "nothing of that is for a homeowner"; }
};

TEST_F(Installation, ABrokerThatIsAwayIsTold) {
  start();
  broker.stop();
  EXPECT_TRUE(ben_hears("The broker cannot be reached.\n")) << all(kBen);
  broker.start();
  EXPECT_TRUE(ben_hears("This is over: The broker cannot be reached.\n")) << all(kBen);
  EXPECT_EQ(count(kBen, "No sensor is heard"), 0) << "one trouble for one cause";
}

// Neither history nor state can grow any more, and the spool neither: alerts go out from memory.
TEST_F(Installation, AFullDiskIsToldAndWhatIsLostMeanwhile) {
  start();
  let_files_grow_to(1);
  EXPECT_TRUE(ben_hears("Nothing can be recorded.\n")) << all(kBen);
  EXPECT_TRUE(ben_hears("Readings are lost: there is no room for them.\n")) << all(kBen);
  let_files_grow_to(RLIM_INFINITY);
  EXPECT_TRUE(ben_hears("This is over: Nothing can be recorded.\n", seconds(60))) << all(kBen);
  EXPECT_TRUE(ben_hears("This is over: Readings are lost: there is no room for them.\n", seconds(100)))
      << all(kBen);
}

TEST_F(Installation, AClockThatIsNotSetIsTold) {
  const std::string set = daemon.state() + ".clock-is-set";
  start("", {"LD_PRELOAD=" UNSET_CLOCK, "CLOCK_IS_SET=" + set, "ASAN_OPTIONS=verify_asan_link_order=0"});
  EXPECT_TRUE(ben_hears("The clock cannot be relied on.\n")) << all(kBen);
  std::ofstream(set).put('\n');
  EXPECT_TRUE(ben_hears("This is over: The clock cannot be relied on.\n")) << all(kBen);
}

// Something has to be told by it first: here that the broker is away.
TEST_F(Installation, AWayOfTellingThatFailsIsToldByTheOthers) {
  const int port = free_port();
  start(
      fmt::format("[[notifier]]\nname = \"pager\"\nplugin = \"mqtt\"\nurl = \"mqtt://127.0.0.1:{}\"\n"
                  "topic = \"page\"\n",
                  port));
  broker.stop();
  EXPECT_TRUE(ben_hears("Messages by pager do not get through.\n", seconds(60))) << all(kBen);
}

TEST_F(Installation, SilenceOfAllSensorsIsToldThoughTheBrokerIsUp) {
  start();
  sensors->silence(1);
  sensors->silence(2);
  EXPECT_TRUE(ben_hears("No sensor is heard, though the broker answers.\n", seconds(100))) << all(kBen);
  sensors->speak_again();
  EXPECT_TRUE(ben_hears("This is over: No sensor is heard, though the broker answers.\n")) << all(kBen);
}

TEST_F(Installation, ASensorThatIsSilentWhileOthersSpeakIsToldAsTheSensors) {
  start();
  sensors->silence(1);
  EXPECT_TRUE(ben_hears("Zone 1 is not watched at present: its sensor cannot be trusted.\n", seconds(120)))
      << all(kBen);
  sensors->speak_again();
  EXPECT_TRUE(ben_hears("Over: Zone 1: the sensor fault has ended.\n", seconds(60))) << all(kBen);
  EXPECT_EQ(count(kBen, "No sensor is heard"), 0);
}

TEST_F(Installation, AnotherClientWithOurIdIsTold) {
  start();
  ClientOptions same = client_options(broker.url());
  ASSERT_TRUE(becomes_true([&] { return broker.log().find("as coilward-juniper-") != std::string::npos; }));
  const std::string broker_log = broker.log();
  const auto begin = broker_log.find("coilward-juniper-");
  same.mqtt.client_id = broker_log.substr(begin, broker_log.find(' ', begin) - begin);
  Subscriber other(same);
  other.start();
  EXPECT_TRUE(ben_hears("Another client uses coilward's client id at the broker.\n", seconds(100)))
      << all(kBen) << broker.log();
}

}  // namespace
}  // namespace coilward
