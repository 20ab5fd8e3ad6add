// A message that crashes its decoder waits in the spool for every next process: the second crash is its last.
#include <fmt/format.h>

#include "tests/process/one_zone.h"

namespace coilward {
namespace {

// The usual plugins and one that crashes on a payload that begins with 'c'.
class Poisoned : public testing::Test {
 protected:
  Poisoned() {
    for (const auto& file : std::filesystem::directory_iterator(COILWARD_BINARY_DIR "/plugins"))
      std::filesystem::create_symlink(file.path(), plugins_ / file.path().filename().string());
    std::filesystem::create_symlink(OUTSIDE_PLUGINS "/bad_crashes.so", plugins_ / "bad_crashes.so");
  }
  std::string toml() const {
    return site_toml(broker_.url(), fmt::format("[paths]\nplugins = \"{}\"\n[[sensor]]\ntopic = \"{}\"\n"
                                                "channel = \"zone/1/current\"\ndecoder = \"bad_crashes\"\n",
                                                plugins_.path(), kTopic));
  }
  TemporaryDirectory plugins_;
  Broker broker_;
};

void send(const Broker& broker, const std::vector<const char*>& payloads) {
  const auto publisher = sensor(broker);
  for (const char* payload : payloads) ASSERT_TRUE(publisher->publish(kTopic, payload));
  ASSERT_TRUE(publisher->flush());
}

TEST_F(Poisoned, AMessageThatCrashesIsLeftOutAtTheThirdStart) {
  DaemonProcess daemon{toml()};
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  ASSERT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  send(broker_, {"good"});
  ASSERT_TRUE(becomes_true([&] { return kept_readings(daemon).size() == 1; })) << daemon.log();
  send(broker_, {"crash, \x1b[31m", "good again"});
  for (int crash = 1; crash <= 2; ++crash) {
    EXPECT_NE(daemon.ends(), 0);
    EXPECT_TRUE(daemon.says("the plugin 'bad_crashes' crashed")) << daemon.log();
    EXPECT_EQ(daemon.log().find("left out"), std::string::npos) << daemon.log();
    daemon.start();
  }
  EXPECT_TRUE(daemon.says("crashed coilwardd twice and was left out. It begins: crash,  [31m"))
      << daemon.log();
  EXPECT_TRUE(becomes_true([&] { return kept_readings(daemon).size() == 2; }))
      << kept_readings(daemon).size() << daemon.log();
  EXPECT_EQ(daemon.process().end(SIGTERM), 0) << daemon.log();
}

// A process that is killed has done nothing wrong, nor has the message it held.
TEST_F(Poisoned, AKilledProcessIsNoReasonToLeaveAMessageOut) {
  DaemonProcess daemon{toml()};
  const auto watches = [&] {
    const int before = daemon.told.count("STATUS=watching");
    daemon.start();
    return becomes_true([&] { return daemon.told.count("STATUS=watching") > before; });
  };
  for (int kill = 0; kill < 3; ++kill) {
    ASSERT_TRUE(watches()) << daemon.log();
    const std::string payload = fmt::format("good {}", kill);  // the same within a minute is a re-delivery
    send(broker_, {payload.c_str()});
    daemon.process().end(SIGKILL);
  }
  // All three may have been kept before the last kill: that alone does not say that this one has begun.
  ASSERT_TRUE(watches()) << daemon.log();
  EXPECT_TRUE(becomes_true([&] { return kept_readings(daemon).size() == 3; })) << daemon.log();
  EXPECT_EQ(daemon.process().end(SIGTERM), 0) << daemon.log();
  EXPECT_EQ(daemon.log().find("left out"), std::string::npos) << daemon.log();
}

}  // namespace
}  // namespace coilward
