#include "daemon/fleet/uplink/uplink_step.h"

#include <gtest/gtest.h>
#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <deque>
#include <random>
#include <set>

#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

// Numbered things of each kind, without end where not said otherwise.
class CountedSource final : public ParcelSource {
 public:
  Result<std::optional<Parcel>> next(UplinkKind kind, const UplinkMarks& marks, UtcTime) override {
    const std::string name(uplink_kind_name(kind));
    const auto it = marks.find(name);
    const int taken = it == marks.end() || it->second.empty() ? 0 : std::stoi(it->second);
    if (taken >= ready[kind]) return std::optional<Parcel>();
    return std::optional(Parcel{
        kind, "\"" + name + " " + std::to_string(taken + 1) + "\"", {{name, std::to_string(taken + 1)}}});
  }
  std::map<UplinkKind, int> ready;
};

// The other side: keeps what comes once, and says how far it has all.
class FakeFleet {
 public:
  void take(const std::string& payload) {
    const auto read = read_uplink(payload);
    ASSERT_TRUE(read) << read.error().what;
    const auto body = unsqueeze_uplink_body(read->squeezed);
    ASSERT_TRUE(body) << body.error().what;
    ++arrived;
    auto& kept = rows[read->head.epoch];
    const auto [it, fresh] = kept.emplace(read->head.seq, *body);
    if (!fresh) EXPECT_EQ(it->second, *body) << "a number that means two things";
  }
  UplinkHave have(std::int64_t epoch) {
    std::int64_t n = 0;
    for (const auto& [seq, body] : rows[epoch])
      if (seq == n + 1) n = seq;
    return {epoch, n};
  }
  std::vector<std::string> bodies() const {
    std::vector<std::string> list;
    for (const auto& [epoch, kept] : rows)
      for (const auto& [seq, body] : kept) list.push_back(body);
    return list;
  }
  bool has(const std::string& body) const {
    const auto all = bodies();
    return std::find(all.begin(), all.end(), body) != all.end();
  }
  std::map<std::int64_t, std::map<std::int64_t, std::string>> rows;
  int arrived = 0;
};

class UplinkStepTest : public ::testing::Test {
 protected:
  void SetUp() override { restart(); }
  // As a new process.
  void restart() {
    step_.reset();
    auto outbox = UplinkOutbox::open(path_, clock_.utc());
    ASSERT_TRUE(outbox) << outbox.error().what;
    step_ =
        std::make_unique<UplinkStep>(std::move(*outbox), source_, clock_, monthly_bytes_, keep_alive_,
                                     [this](std::string payload) { wire_.push_back(std::move(payload)); });
  }
  // Everything on the wire arrives, or some of it; the fleet answers.
  void exchange(double lost = 0) {
    for (const auto& payload : std::exchange(wire_, {}))
      if (std::bernoulli_distribution(lost)(random_) == false) fleet_.take(payload);
    const UplinkHave have = fleet_.have(step_->state().epoch);
    if (have.have > 0 && std::bernoulli_distribution(lost)(random_) == false) step_->heard(have);
  }
  // Until nothing waits, at most so many rounds of what the step itself wants to wait.
  void run(int rounds, double lost = 0) {
    for (int i = 0; i < rounds; ++i) {
      const Millis wait = step_->step();
      exchange(lost);
      if (step_->state().outbox.waiting == 0 && wire_.empty()) step_->step();
      clock_.advance(wire_.empty() ? wait : 1ms);
    }
  }

  TemporaryDirectory directory_;
  const std::string path_ = directory_ / "uplink.db";
  FakeClock clock_{*parse_rfc3339("2026-05-04T06:12:09Z")};
  CountedSource source_;
  FakeFleet fleet_;
  std::deque<std::string> wire_;
  std::minstd_rand random_{7};
  std::uint64_t monthly_bytes_ = 0;
  Millis keep_alive_ = 300s;
  std::unique_ptr<UplinkStep> step_;
};

TEST_F(UplinkStepTest, NothingIsCutBeforeTheFleetSaysSo) {
  source_.ready[UplinkKind::finding] = 3;
  step_->connected(true);
  step_->step();
  EXPECT_EQ(wire_.size(), 1u) << "one as a probe";
  EXPECT_EQ(step_->state().outbox.waiting, 3u);
  exchange();
  step_->step();
  EXPECT_EQ(step_->state().outbox.waiting, 2u);
  run(5);
  EXPECT_EQ(step_->state().outbox.waiting, 0u);
  EXPECT_EQ(fleet_.arrived, 3) << "each once";
}

TEST_F(UplinkStepTest, PatienceGrowsFromFourSecondsAndOneGoesAgain) {
  source_.ready[UplinkKind::finding] = 1;
  step_->connected(true);
  step_->step();
  std::vector<double> waits;
  for (int i = 0; i < 9; ++i) {
    const auto began = clock_.steady();
    const std::size_t before = wire_.size();
    for (Millis wait = step_->step(); wire_.size() == before; wait = step_->step()) clock_.advance(wait);
    waits.push_back(std::chrono::duration<double>(clock_.steady() - began).count());
  }
  EXPECT_NEAR(waits[0], 4, 0.1);
  EXPECT_NEAR(waits[1], 8, 0.1);
  EXPECT_NEAR(waits[4], 64, 0.1);
  EXPECT_NEAR(waits[8], 600, 0.1) << "the longest";
  for (const auto& payload : wire_) EXPECT_EQ(read_uplink(payload)->head.seq, 1);
}

TEST_F(UplinkStepTest, OtherEpochsAndGoingBackAreIgnored) {
  source_.ready[UplinkKind::finding] = 4;
  step_->connected(true);
  run(8);
  const auto epoch = step_->state().epoch;
  ASSERT_EQ(step_->state().have, 4);
  step_->heard({epoch + 1, 2});
  step_->heard({epoch, 2});
  EXPECT_EQ(step_->state().have, 4);
  EXPECT_EQ(step_->state().epoch, epoch);
}

TEST_F(UplinkStepTest, AnOldCopyOfTheOutboxBeginsANewEpoch) {
  source_.ready[UplinkKind::finding] = 2;
  step_->connected(true);
  run(6);
  const auto epoch = step_->state().epoch;
  source_.ready[UplinkKind::finding] = 4;
  step_->heard({epoch, 9});
  EXPECT_NE(step_->state().epoch, epoch);
  run(8);
  EXPECT_EQ(step_->state().outbox.waiting, 0u);
  EXPECT_EQ(fleet_.bodies().size(), 4u);
}

TEST_F(UplinkStepTest, FindingsGoBeforeWhatWaitedLonger) {
  source_.ready = {{UplinkKind::history, 500}, {UplinkKind::runs, 500}};
  step_->connected(true);
  run(10);
  source_.ready[UplinkKind::finding] = 1;
  const int before = fleet_.arrived;
  for (int i = 0; i < 100 && !fleet_.has("\"finding 1\""); ++i) run(1);
  EXPECT_TRUE(fleet_.has("\"finding 1\""));
  EXPECT_LE(fleet_.arrived - before, static_cast<int>(kMostOthers) + 1);
}

TEST_F(UplinkStepTest, WeeksWithoutALinkAndARestartWithin) {
  source_.ready[UplinkKind::finding] = 5;
  step_->connected(true);
  run(8);
  step_->connected(false);
  for (int day = 0; day < 28; ++day) {
    source_.ready[UplinkKind::finding] += 3;
    source_.ready[UplinkKind::runs] += 12;
    source_.ready[UplinkKind::history] += 4;
    step_->step();
    clock_.advance(24h);
    if (day == 13) restart();
  }
  EXPECT_EQ(step_->state().outbox.waiting, 84u) << "findings; the rest waits where it is";
  step_->connected(true);
  run(400);
  EXPECT_EQ(step_->state().outbox.waiting, 0u);
  const auto bodies = fleet_.bodies();
  EXPECT_EQ(bodies.size(), 5u + 84 + 28 * 16);
  EXPECT_EQ(std::set<std::string>(bodies.begin(), bodies.end()).size(), bodies.size()) << "each once";
}

TEST_F(UplinkStepTest, HalfOfEverythingLostBothWays) {
  source_.ready = {{UplinkKind::finding, 40}, {UplinkKind::runs, 100}, {UplinkKind::history, 60}};
  step_->connected(true);
  for (int i = 0; i < 120; ++i) {
    run(10, 0.5);
    if (i % 7 == 3) step_->connected(false);
    if (i % 7 == 4) step_->connected(true);
    if (i == 20) restart(), step_->connected(true);
  }
  step_->connected(true);
  run(50);
  EXPECT_EQ(step_->state().outbox.waiting, 0u);
  EXPECT_EQ(fleet_.bodies().size(), 200u);
}

TEST_F(UplinkStepTest, ADamagedRowIsTakenAnewUnderAnotherNumber) {
  source_.ready[UplinkKind::finding] = 6;
  step_->step();  // taken; there is no link
  {
    SQLite::Database database(path_, SQLite::OPEN_READWRITE);
    database.exec("UPDATE message SET body = x'0011' WHERE seq = 4");
  }
  step_->connected(true);
  run(40);
  const auto bodies = fleet_.bodies();
  const std::set<std::string> kept(bodies.begin(), bodies.end());
  for (int i = 1; i <= 6; ++i) EXPECT_TRUE(kept.contains("\"finding " + std::to_string(i) + "\"")) << i;
  EXPECT_TRUE(kept.contains("{}")) << "the number's place is held";
  EXPECT_EQ(step_->state().outbox.waiting, 0u);
  EXPECT_EQ(step_->state().outbox.damaged, 1u);
}

TEST_F(UplinkStepTest, ABudgetHoldsHistoryBackFirstAndNeverAFinding) {
  monthly_bytes_ = 60'000;
  keep_alive_ = 12h;
  restart();
  step_->connected(true);
  std::map<std::string, int> by_kind;
  for (int day = 0; day < 27; ++day) {
    source_.ready[UplinkKind::finding] += 1;
    source_.ready[UplinkKind::runs] += 6;
    source_.ready[UplinkKind::history] += 6;
    for (int i = 0; i < 48; ++i) {
      step_->step();
      exchange();
      clock_.advance(30min);
    }
  }
  for (const auto& body : fleet_.bodies()) ++by_kind[body.substr(1, body.find(' ') - 1)];
  EXPECT_EQ(by_kind["finding"], 27);
  EXPECT_LT(by_kind["history"], by_kind["runs"]);
  EXPECT_LT(by_kind["runs"], 6 * 27);
  EXPECT_LT(step_->state().month_bytes, 62'000u);
  const auto spent = step_->state().month_bytes;
  restart();
  EXPECT_NEAR(double(step_->state().month_bytes), double(spent), 2000) << "kept over a restart";
  clock_.jump_utc(*parse_rfc3339("2026-06-01T00:00:01Z"));
  EXPECT_EQ(step_->state().month_bytes, 0u);
}

TEST_F(UplinkStepTest, ADeadFleetCostsAMeteredLinkLittle) {
  monthly_bytes_ = 1'000'000;
  keep_alive_ = 1800s;
  restart();
  source_.ready = {{UplinkKind::finding, 50}, {UplinkKind::runs, 100}, {UplinkKind::history, 60}};
  step_->connected(true);
  for (const auto end = clock_.steady() + 14 * 24h; clock_.steady() < end;) clock_.advance(step_->step());
  EXPECT_LT(step_->state().sent_bytes, 150'000u) << "two weeks without an answer";
}

}  // namespace
}  // namespace coilward
