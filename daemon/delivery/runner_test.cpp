#include <gtest/gtest.h>

#include <future>

#include "daemon/delivery/exporter_runner.h"
#include "daemon/delivery/fake_outbox.h"
#include "daemon/delivery/fake_receiver.h"
#include "daemon/delivery/notifier_runner.h"

namespace coilward {
namespace {

using std::chrono::seconds;

struct Side {  // one notifier with its outbox
  FakeOutbox box;
  std::shared_ptr<FakeReceiver::Log> log = std::make_shared<FakeReceiver::Log>();
  std::unique_ptr<NotifierRunner> runner;

  void start(const Clock& clock) {
    runner = std::make_unique<NotifierRunner>(NotifierUse{"n", "fake", "UTC", 1},
                                              std::make_unique<FakeReceiver>(log),
                                              std::make_unique<FakeOutboxSource>(box), clock);
  }
};

struct RunnerTest : testing::Test {
  SystemClock clock;
  double stop_s(NotifierRunner& runner, bool expected) {
    const auto before = std::chrono::steady_clock::now();
    EXPECT_EQ(runner.stop(seconds{2}), expected);
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - before).count();
  }
};

TEST_F(RunnerTest, AQueuedAlertGoesAtAWake) {
  Side side;
  side.start(clock);
  side.box.queue("a", "{}", clock.utc());
  side.runner->wake();
  EXPECT_TRUE(side.log->wait_for(1, seconds{2}));
}

TEST_F(RunnerTest, OneThatHangsDelaysNoOther) {
  Side hanging, well;
  hanging.log->hang = true;
  hanging.box.queue("a", "{}", clock.utc());
  well.box.queue("a", "{}", clock.utc());
  hanging.start(clock);
  ASSERT_TRUE(hanging.log->wait_for(1, seconds{2}));
  well.start(clock);
  EXPECT_TRUE(well.log->wait_for(1, seconds{2}));
  EXPECT_LT(stop_s(*hanging.runner, true), 1.0);
  EXPECT_LT(stop_s(*well.runner, true), 1.0);
  EXPECT_EQ(hanging.box.count(FakeOutbox::State::pending), 1u) << "kept for the next start";
}

TEST_F(RunnerTest, AReceiverThatHearsNothingIsLeftBehind) {
  Side side;
  side.log->deaf = true;
  side.box.queue("a", "{}", clock.utc());
  side.start(clock);
  ASSERT_TRUE(side.log->wait_for(1, seconds{2}));
  EXPECT_FALSE(side.runner->stop(Millis{200}));
  side.runner.reset();
  std::unique_lock lock(side.log->mutex);
  EXPECT_FALSE(side.log->destroyed) << "its thread still uses it";
  side.log->release = true;
  side.log->changed.notify_all();
  EXPECT_TRUE(side.log->changed.wait_for(lock, seconds{5}, [&] { return side.log->destroyed; }));
}

TEST_F(RunnerTest, AStoppedRunnerDestroysItsReceiverAtOnce) {
  Side side;
  side.start(clock);
  side.runner.reset();
  EXPECT_TRUE(side.log->destroyed);
}

TEST_F(RunnerTest, ATestRunsOnItsThreadAndGivesTheWords) {
  Side side;
  side.log->answer = [](const std::string&) { return Delivered{Outcome::refused, "550 no such user"}; };
  side.start(clock);
  std::promise<Delivered> got;
  side.runner->test("{}", [&](const Delivered& result) { got.set_value(result); });
  auto future = got.get_future();
  ASSERT_EQ(future.wait_for(seconds{2}), std::future_status::ready);
  EXPECT_EQ(future.get().words, "550 no such user");
}

// The process dies after the other side took the alert and before that is written down: the next process
// sends the same alert under the same id.
TEST_F(RunnerTest, AKillBeforeTheMarkSendsTheSameIdAgain) {
  Side side;
  side.box.queue("20260504-z4.opened.1", R"({"id":"20260504-z4.opened.1"})", clock.utc());
  side.box.fail_writes(true);
  side.start(clock);
  ASSERT_TRUE(side.log->wait_for(1, seconds{2}));
  side.runner.reset();
  side.box.fail_writes(false);
  side.start(clock);
  ASSERT_TRUE(side.log->wait_for(2, seconds{2}));
  std::lock_guard lock(side.log->mutex);
  EXPECT_EQ(side.log->got[0], side.log->got[1]);
}

// ---- exporter

class CountingSource final : public BatchSource {
 public:
  struct Log {
    std::mutex mutex;
    std::vector<std::string> taken;
  };
  explicit CountingSource(std::shared_ptr<Log> log) : log_(std::move(log)) {}
  Result<std::optional<ExportBatch>> next(UtcTime) override {
    std::lock_guard lock(log_->mutex);
    if (log_->taken.size() >= 5) return std::optional<ExportBatch>();
    const auto id = std::to_string(log_->taken.size());
    return std::optional(ExportBatch{id, "{\"id\":\"" + id + "\"}", id});
  }
  Result<bool> taken(const ExportBatch& batch) override {
    std::lock_guard lock(log_->mutex);
    log_->taken.push_back(batch.id);
    return true;
  }
  UtcTime next_time(UtcTime) override { return kNever; }

 private:
  std::shared_ptr<Log> log_;
};

TEST_F(RunnerTest, AnExporterGetsEachBatchInOrderAndTheSameOneAfterLater) {
  FakeClock still(*parse_rfc3339("2026-05-04T08:14:00Z"));
  auto log = std::make_shared<FakeReceiver::Log>();
  auto source = std::make_shared<CountingSource::Log>();
  int calls = 0;
  log->answer = [&](const std::string& json) {
    if (json.find("\"2\"") != json.npos && ++calls < 3) return Delivered{Outcome::retry, "no"};
    if (json.find("\"3\"") != json.npos) return Delivered{Outcome::refused, "never"};
    return Delivered{Outcome::done, ""};
  };
  ExporterRunner runner("e", "fake", std::make_unique<FakeReceiver>(log),
                        std::make_unique<CountingSource>(source), still, 1);
  const auto deadline = std::chrono::steady_clock::now() + seconds{5};
  while (!log->wait_for(7, Millis{20}) && std::chrono::steady_clock::now() < deadline) {
    still.advance(seconds{60});
    runner.wake();
  }
  ASSERT_TRUE(runner.stop(seconds{2}));
  const auto state = runner.state();
  EXPECT_EQ(source->taken, (std::vector<std::string>{"0", "1", "2", "3", "4"}));
  EXPECT_EQ(state.done, 4u);
  EXPECT_EQ(state.refused, 1u);
  EXPECT_EQ(state.retried, 2u);
}

}  // namespace
}  // namespace coilward
