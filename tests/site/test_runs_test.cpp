// Zones asked to be on for a test at a running site: what goes out, what is kept, what a restart makes of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/history/state_directory.h"
#include "daemon/site.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

constexpr std::string_view kTestableToml = R"([site]
id = "juniper-row-12"
[test_run]
allow = true
[master]
[[zone]]
number = 4
)";

struct Sent {
  std::string topic;
  Json json;
  bool retained;
};

class AskedLive : public testing::Test {
 protected:
  AskedLive() {
    config.paths.state = directory.path();
    start();
  }
  void start() {
    auto intake = Intake::make(config, host);
    EXPECT_TRUE(intake) << intake.error().what;
    site.reset();
    intake_ = std::move(*intake);
    SiteLinks links;
    links.commit = [this](CommitUnit unit) { to_disk(unit); };
    links.publish = [this](const std::string& topic, const std::string& payload, bool retained) {
      if (topic.find("/request/") != std::string::npos)
        sent.push_back({topic, Json::parse(payload), retained});
    };
    links.health = [this] { return std::vector<HealthStage>{{"broker", broker, "gone", kNever}}; };
    site = std::make_unique<Site>(config, *intake_, clock, "0.1.0", std::move(links));
    ASSERT_TRUE(site->restore({}));
  }
  void to_disk(const CommitUnit& unit) {
    auto store = StateStore::open(state_path(config.paths.state), "juniper-row-12");
    ASSERT_TRUE(store) << store.error().what;
    StateBatch batch;
    batch.values = unit.values;
    ASSERT_TRUE(store->commit(batch));
  }
  void say(const std::string& channel, const std::string& payload) {
    const std::string topic = "coilward/juniper-row-12/measure/" + channel;
    Message message;
    message.topic = topic;
    message.payload = payload;
    message.arrival = clock.utc();
    message.sequence = ++sequence;
    site->message(message, true);
  }
  void pass(std::chrono::seconds time) {
    clock.advance(time);
    site->tick();
  }
  TestRunStage stage() { return stage_of(site->test_runs().at(0), clock.utc()); }

  TemporaryDirectory directory;
  Config config = *parse_config(kTestableToml, "site.toml");
  PluginHost host{COILWARD_BINARY_DIR "/plugins"};
  FakeClock clock{*parse_rfc3339("2026-05-04T06:12:09Z")};
  std::unique_ptr<Intake> intake_;
  std::unique_ptr<Site> site;
  std::vector<Sent> sent;
  std::uint64_t sequence = 0;
  bool broker = true;
};

TEST_F(AskedLive, ARequestGoesOutAndIsAskedToEndWhenItsTimeIsOver) {
  ASSERT_TRUE(site->ask_test_run(4, 60, "Ana"));
  ASSERT_EQ(sent.size(), 1u);
  EXPECT_EQ(sent[0].topic, "coilward/juniper-row-12/request/run");
  EXPECT_FALSE(sent[0].retained);
  EXPECT_EQ(sent[0].json["seconds"], 60);
  say("zone/4/command", "on");
  say("zone/4/current", "0.23");
  pass(std::chrono::seconds{1});
  EXPECT_EQ(stage(), TestRunStage::on);
  pass(std::chrono::seconds{58});
  EXPECT_EQ(sent.size(), 1u);
  pass(std::chrono::seconds{1});
  ASSERT_EQ(sent.size(), 2u);
  EXPECT_EQ(sent[1].topic, "coilward/juniper-row-12/request/stop");
  EXPECT_EQ(sent[1].json["id"], sent[0].json["id"]);
}

TEST_F(AskedLive, ARestartKnowsWhatIsUnderWay) {
  ASSERT_TRUE(site->ask_test_run(4, 60, "Ana"));
  site->tick();
  clock.advance(std::chrono::seconds{30});
  start();
  ASSERT_EQ(site->test_runs().size(), 1u);
  EXPECT_EQ(site->test_runs()[0].who, "Ana");
  EXPECT_FALSE(site->ask_test_run(4, 60, "Ben"));
  pass(std::chrono::seconds{30});
  EXPECT_EQ(sent.back().topic, "coilward/juniper-row-12/request/stop");
}

TEST_F(AskedLive, NothingWaitsForABrokerThatIsAway) {
  broker = false;
  const auto asked = site->ask_test_run(4, 60, "Ana");
  ASSERT_FALSE(asked);
  EXPECT_EQ(asked.error().cause, Cause::conflict);
  EXPECT_TRUE(sent.empty());
  EXPECT_TRUE(site->test_runs().empty());
}

TEST_F(AskedLive, OnlyWhereItIsAllowedAndNeverTheMasterAlone) {
  EXPECT_FALSE(site->ask_test_run(kMasterZone, 60, "Ana"));
  EXPECT_FALSE(site->ask_test_run(9, 60, "Ana"));
  config.test_run.allow = false;
  EXPECT_FALSE(site->ask_test_run(4, 60, "Ana"));
  EXPECT_TRUE(sent.empty());
  EXPECT_FALSE(parse_config("[site]\nid = \"a\"\n[[zone]]\nnumber = 4\n", "site.toml")->test_run.allow);
}

}  // namespace
}  // namespace coilward
