// Sites publish while workers, broker and database are killed and restarted: what was confirmed to a site is
// in the database, and each row is there once.
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <csignal>
#include <iostream>
#include <nlohmann/json.hpp>

#include "daemon/fleet/uplink/uplink.h"
#include "daemon/history/history_store.h"
#include "daemon/history/state_directory.h"
#include "daemon/history/state_store.h"
#include "daemon/mqtt/publisher.h"
#include "tests/fleet/fleet_stage.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

// A site's files and its uplink, without the rest of its daemon.
class StageSite {
 public:
  static std::string name(int number) { return "larch-court-" + std::to_string(number); }

  StageSite(int number, const FleetStage& stage) {
    config_.site = {name(number), "Larch Court " + std::to_string(number), "Europe/Berlin"};
    config_.commons.push_back({"main", {}});
    for (int zone = 1; zone <= 4; ++zone) config_.zones.push_back({zone, "Bed " + std::to_string(zone)});
    config_.paths.state = directory_.path();
    config_.fleet.mqtt = stage.login(config_.site.id);
    config_.fleet.every_minutes = 0;  // at once
    state_.emplace(std::move(*StateStore::open(state_path(directory_.path()), config_.site.id)));
    history_.emplace(std::move(*HistoryStore::open(history_path(directory_.path()), ChannelNames(config_))));
    start();
  }

  void start() {
    auto uplink = Uplink::open(config_, "0.1.0", clock());
    if (!uplink) throw std::runtime_error(uplink.error().what);
    uplink_ = std::move(*uplink);
    uplink_->start();
  }
  void restart() {
    uplink_->stop(2s);
    uplink_.reset();
    start();
  }

  // A finding and a run more.
  void happen() {
    const UtcTime at = from_ms(to_ms(clock().utc()) / 1000 * 1000 - 60'000 * 60 + happened_ * 1000);
    Finding f;
    f.id = "20260504-061209-z4-open_circuit-" + std::to_string(++happened_);
    f.zones = {4};
    f.severity = Severity::urgent;
    f.probability = 0.9;
    f.opened = f.updated = at;
    f.summary = "Zone 4 took no current.";
    StateBatch batch;
    batch.findings = {&f, 1};
    batch.now = at;
    Run run;
    run.zone = happened_ % 4 + 1;
    run.start = at;
    run.end = at + 10min;
    run.ended = RunEnd::switched_off;
    run.hold_amps = 0.231;
    if (!state_->commit(batch) || !history_->commit({{}, {&run, 1}, {}}))
      throw std::runtime_error("not kept");
    uplink_->wake();
  }
  bool all_confirmed() {
    uplink_->wake();
    const UplinkState state = uplink_->state();
    return state.connected && state.outbox.waiting == 0 && state.last > 0 && state.have == state.last;
  }
  UplinkState state() const { return uplink_->state(); }
  const std::string& id() const { return config_.site.id; }
  int happened() const { return happened_; }

 private:
  static const Clock& clock() {
    static const SystemClock clock;
    return clock;
  }
  TemporaryDirectory directory_;
  Config config_;
  std::optional<StateStore> state_;
  std::optional<HistoryStore> history_;
  std::unique_ptr<Uplink> uplink_;
  int happened_ = 0;
};

// Everyone has something happen, so often.
void happen(std::vector<std::unique_ptr<StageSite>>& sites, int times) {
  for (int i = 0; i < times; ++i)
    for (auto& site : sites) site->happen();
}

bool all_there(const FleetStage& stage, const StageSite& site) {
  for (const char* table : {"finding", "run_summary"})
    if (stage.database.number(std::string("select count(*) from ") + table + " where site = '" + site.id() +
                              "'") != site.happened())
      return false;
  return true;
}

TEST(FleetProcess, NothingConfirmedIsLostAndEachRowIsThereOnce) {
  COILWARD_NEEDS_POSTGRESQL();
  FleetStage stage(2, {StageSite::name(1), StageSite::name(2), StageSite::name(3), StageSite::name(4)});
  ASSERT_TRUE(stage.sound(0)) << stage.log(0);
  ASSERT_TRUE(stage.sound(1)) << stage.log(1);
  std::vector<std::unique_ptr<StageSite>> sites;
  for (int i = 1; i <= 4; ++i) sites.push_back(std::make_unique<StageSite>(i, stage));
  happen(sites, 10);
  stage.kill_worker(0);
  happen(sites, 10);
  stage.start_worker(0);
  stage.broker.kill();
  happen(sites, 5);
  sites[0]->restart();
  stage.broker.start();
  happen(sites, 5);
  stage.database.stop();
  happen(sites, 5);
  stage.database.start();
  happen(sites, 5);
  stage.kill_worker(1);
  stage.database.kill();
  stage.database.start();
  stage.start_worker(1);
  happen(sites, 10);
  for (auto& site : sites)
    EXPECT_TRUE(becomes_true([&] { return site->all_confirmed() && all_there(stage, *site); }, 90s))
        << site->id() << " has " << site->state().have << " of " << site->state().last << ", "
        << site->state().outbox.waiting << " wait; " << site->state().trouble << "\n"
        << stage.log(0) << stage.log(1);
  std::uint64_t resent = 0, confirmed = 0;
  for (auto& site : sites) {
    const UplinkState state = site->state();
    resent += state.resent;
    confirmed += static_cast<std::uint64_t>(state.have);
    EXPECT_EQ(stage.database.number("select count(*) from uplink where site = '" + site->id() +
                                    "' and epoch = " + std::to_string(state.epoch)),
              state.have);
    EXPECT_EQ(stage.database.number("select have from site_mark where site = '" + site->id() + "'"),
              state.have);
  }
  EXPECT_EQ(stage.database.number("select count(*) from zone where name like 'Bed %'"), 16);
  const long ledger = stage.database.number("select count(*) from uplink");
  std::cout << sites.size() << " sites, " << confirmed << " messages confirmed, " << ledger
            << " in the ledger, " << resent << " sent again\n";
  EXPECT_EQ(ledger, static_cast<long>(confirmed));
  EXPECT_EQ(stage.stop_worker(0), 0);
}

// What one site sends that is not as it should be holds up neither others nor itself.
TEST(FleetProcess, ABadMessageKeepsItsNumberAndHoldsUpNobody) {
  COILWARD_NEEDS_POSTGRESQL();
  FleetStage stage(1, {"good", "bad"});
  ASSERT_TRUE(stage.sound()) << stage.log();
  auto good = Publisher::connect(stage.login("good")), bad = Publisher::connect(stage.login("bad"));
  ASSERT_TRUE(good && bad);
  const UtcTime at = SystemClock().utc();
  const auto send = [&](const std::string& site, std::int64_t seq, UplinkKind kind, const std::string& body) {
    ASSERT_TRUE((site == "good" ? *good : *bad)
                    ->publish(up_topic(site), uplink_payload({5, seq, kind, at}, squeeze_uplink_body(body))));
  };
  const auto finding = [](const std::string& id, const std::string& zones) {
    return R"({"findings":[{"id":")" + id + R"(","fault":"open_circuit","zones":)" + zones +
           R"(,"severity":"urgent","probability":0.9,"opened":"2026-05-04T06:12:09Z",)"
           R"("updated":"2026-05-04T06:12:09Z","closed":null,"summary":"It is so."}]})";
  };
  send("good", 1, UplinkKind::finding, finding("a", "[1]"));
  send("bad", 1, UplinkKind::finding, finding("a", "[\"one\"]"));
  send("bad", 2, UplinkKind::finding, finding("b", "[70000]"));
  send("bad", 3, UplinkKind::runs, R"({"zone":[1],"start":["never"],"seconds":[1]})");
  send("bad", 4, UplinkKind::finding, R"({"findings":7})");
  send("bad", 5, UplinkKind::finding, finding("c", "[2]"));
  ASSERT_TRUE((*bad)->publish(up_topic("bad"), "no head at all"));
  const std::string forged =
      uplink_payload({5, 3, UplinkKind::finding, at}, squeeze_uplink_body(finding("forged", "[1]")));
  ASSERT_TRUE((*bad)->publish(up_topic("good"), forged))
      << "the broker acknowledges it, and lets nobody hear it";
  send("good", 2, UplinkKind::finding, finding("b", "[2]"));
  EXPECT_TRUE(becomes_true([&] {
    return stage.database.number(
               "select coalesce(sum(have), 0) from site_mark where site in ('good', 'bad')") == 7;
  })) << stage.log();
  EXPECT_EQ(stage.database.number("select count(*) from finding where site = 'good'"), 2);
  EXPECT_EQ(stage.database.number("select count(*) from finding where site = 'bad'"), 1);
  EXPECT_EQ(stage.database.number("select count(*) from uplink where site = 'bad' and kind = 0"), 4);
  EXPECT_EQ(stage.database.number("select count(*) from finding where id = 'forged'"), 0);
  EXPECT_EQ(stage.database.number("select count(*) from site"), 2);
}

}  // namespace
}  // namespace coilward
