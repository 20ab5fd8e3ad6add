// The real daemon's signs of life, by both ways: they come only while the whole path is sound.
#include "tests/process/watched_site.h"
#include "tests/support/counting_server.h"

namespace coilward {
namespace {

using std::chrono::seconds;

class SignsOfLifeElsewhere : public WatchedSite {
 protected:
  void SetUp() override {
    ClientOptions options = client_options(broker.url());
    options.mqtt.client_id = "watcher-elsewhere";
    options.filters = {"watch/juniper"};
    watcher_.emplace(options);
    watcher_->start();
    start("[heartbeat]\nurl = \"" + server_.url() +
          "\"\ntopic = \"watch/juniper\"\nevery_s = 1\nreadings_s = 3\n");
    ASSERT_TRUE(both_come()) << daemon.log();
  }
  std::size_t on_topic() { return watcher_->received().size(); }
  // Two more by each way.
  bool both_come(seconds within = seconds(60)) {
    const int asked = server_.asked();
    const std::size_t heard = on_topic();
    return becomes_true([&] { return server_.asked() >= asked + 2 && on_topic() >= heard + 2; }, within);
  }
  // None for four periods, once what was under way is through.
  bool both_stay_away() {
    const auto quiet_since = [this] { return std::pair(server_.asked(), on_topic()); };
    auto last = quiet_since();
    auto since = std::chrono::steady_clock::now();
    return becomes_true(
        [&] {
          if (const auto now = quiet_since(); now != last) {
            last = now;
            since = std::chrono::steady_clock::now();
          }
          return std::chrono::steady_clock::now() - since > seconds(4);
        },
        seconds(30));
  }

 private:
  CountingServer server_{"/ping/7"};
  std::optional<Subscriber> watcher_;
};

TEST_F(SignsOfLifeElsewhere, StayAwayWhileTheProcessStandsStill) {
  daemon.process().signal(SIGSTOP);
  EXPECT_TRUE(both_stay_away());
  daemon.process().signal(SIGCONT);
  EXPECT_TRUE(both_come()) << daemon.log();
}

TEST_F(SignsOfLifeElsewhere, StayAwayWhileTheBrokerIsAway) {
  broker.stop();
  EXPECT_TRUE(both_stay_away()) << daemon.log();
  broker.start();
  EXPECT_TRUE(both_come()) << daemon.log();
}

TEST_F(SignsOfLifeElsewhere, StayAwayWhileNothingCanBeRecorded) {
  let_files_grow_to(1);
  EXPECT_TRUE(both_stay_away()) << daemon.log();
  let_files_grow_to(RLIM_INFINITY);
  EXPECT_TRUE(both_come()) << daemon.log();
}

TEST_F(SignsOfLifeElsewhere, StayAwayWhileNoSensorSpeaks) {
  sensors->silence(1);
  sensors->silence(2);
  EXPECT_TRUE(both_stay_away()) << daemon.log();
  sensors->speak_again();
  EXPECT_TRUE(both_come()) << daemon.log();
}

}  // namespace
}  // namespace coilward
