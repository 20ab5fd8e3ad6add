// The same messages, once through a real broker, the client, the spool and a site, and once through `coilward
// replay` of their recording: the same findings. The clock is the recording's, as a message's arrival is what
// the stages go by.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <semaphore>

#include "daemon/intake/recording_reader.h"
#include "daemon/mqtt/client.h"
#include "daemon/mqtt/publisher.h"
#include "daemon/site.h"
#include "tests/support/broker.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using Findings = std::map<std::string, Json>;  // by id, as they were told last

class LiveSite {
 public:
  LiveSite(const Config& config, UtcTime start, const std::string& spool_directory)
      : config_(config), clock_(start) {
    intake_ = std::move(*Intake::make(config_, host_));
    SiteLinks links;
    links.commit = [this](const CommitUnit& unit) {
      for (const auto& finding : unit.findings)
        findings[finding.id] = finding_to_json(finding, config_.site.id);
    };
    links.publish = [](const std::string&, const std::string&, bool) {};
    site_ = std::make_unique<Site>(config_, *intake_, clock_, "0.1.0", std::move(links));
    spool_ = std::move(*Spool::open(spool_directory, 1U << 20));
    spool_->on_arrival([this] { arrived_.release(); });
    ClientOptions options;
    options.mqtt = config_.mqtt;
    options.site = config_.site.id;
    options.filters = intake_->subscriptions();
    client_ = std::move(*Client::create(std::move(options), spool_, clock_));
    client_->start();
  }

  bool subscribed() const {
    return becomes_true([&] { return client_->status().subscribed; });
  }
  // Ticks once a second, as the daemon does.
  void pass_until(UtcTime time) {
    while (clock_.utc() < time) {
      clock_.advance(std::min(time - clock_.utc(), Millis{1000}));
      site_->tick();
    }
  }
  bool takes_in_one() {
    if (!arrived_.try_acquire_for(std::chrono::seconds(10))) return false;
    const auto taken =
        spool_->read(site_->last_sequence(), 512, [&](const Message& m) { site_->message(m, true); });
    spool_->trim(site_->last_sequence());
    site_->tick();
    return taken == 1;
  }
  void end() { site_->commit(); }

  Findings findings;

 private:
  const Config& config_;
  FakeClock clock_;
  PluginHost host_{COILWARD_BINARY_DIR "/plugins"};
  std::unique_ptr<Intake> intake_;
  std::unique_ptr<Site> site_;
  std::counting_semaphore<> arrived_{0};
  std::shared_ptr<Spool> spool_;
  std::unique_ptr<Client> client_;
};

// Ticks of the daemon fall elsewhere within a second: times may differ by one.
void expect_equal(Json live, Json replay) {
  for (const char* key : {"opened", "updated", "closed"}) {
    ASSERT_EQ(live.at(key).is_null(), replay.at(key).is_null()) << key << live.dump() << replay.dump();
    if (live.at(key).is_null()) continue;
    const auto a = parse_rfc3339(live.at(key).get<std::string>());
    const auto b = parse_rfc3339(replay.at(key).get<std::string>());
    ASSERT_TRUE(a && b);
    EXPECT_LE(std::abs((*a - *b).count()), 1000) << key << live.dump() << replay.dump();
    live.erase(key);
    replay.erase(key);
  }
  EXPECT_EQ(live, replay);
}

class LiveReplay : public testing::Test {
 protected:
  std::string file(const std::string& name) const { return directory_ / name; }
  static std::string program() { return COILWARD_BINARY_DIR "/bin/coilward"; }

  void record(std::vector<std::string> more) {
    std::vector<std::string> command = {program(),   "simulate",     "--recording",
                                        file("rec"), "--config-out", file("site.toml")};
    command.insert(command.end(), more.begin(), more.end());
    ASSERT_EQ(run_to_end(command, file("simulate.log")), 0);
  }

  Findings replayed() const {
    Findings findings;
    EXPECT_EQ(run_to_end({"/bin/sh", "-c",
                          program() + " replay --json --config " + file("site.toml") + " " + file("rec") +
                              " 2>/dev/null"},
                         file("found")),
              0);
    std::ifstream in(file("found"));
    for (std::string line; std::getline(in, line);) {
      const Json finding = Json::parse(line);
      findings[finding.at("id")] = finding;
    }
    return findings;
  }

  Findings lived() const {
    Broker broker;
    auto config = load_config(file("site.toml"));
    EXPECT_TRUE(config) << config.error().what;
    config->mqtt.url = broker.url();
    auto reader = RecordingReader::open(file("rec"));
    EXPECT_TRUE(reader);
    Message message;
    if (!reader || !reader->next(message)) return {};
    LiveSite site(*config, message.arrival, file("spool"));
    EXPECT_TRUE(site.subscribed());
    auto publisher = Publisher::connect(config->mqtt);
    EXPECT_TRUE(publisher);
    do {
      site.pass_until(message.arrival);
      EXPECT_TRUE((*publisher)->publish(message.topic, message.payload));
      if (!site.takes_in_one()) {
        ADD_FAILURE() << "not one message came for one sent";
        break;
      }
    } while (reader->next(message));
    site.end();
    return site.findings;
  }

  void expect_the_same() const {
    const Findings live = lived(), replay = replayed();
    EXPECT_FALSE(replay.empty());
    for (const auto& [id, finding] : replay) {
      ASSERT_TRUE(live.contains(id)) << "only replay says " << finding.dump();
      expect_equal(live.at(id), finding);
    }
    for (const auto& [id, finding] : live)
      EXPECT_TRUE(replay.contains(id)) << "only live: " << finding.dump();
  }

 private:
  TemporaryDirectory directory_;
};

TEST_F(LiveReplay, TheDemonstration) {
  record({"--demo", "--days", "0.002"});
  expect_the_same();
}

TEST_F(LiveReplay, ThreeTurnsOfASite) {
  record({"--random", "3", "--days", "1.75", "--start", "2026-05-01T00:00:00Z", "--fault",
          "open_circuit:zone=1,day=1.5"});
  expect_the_same();
}

}  // namespace
}  // namespace coilward
