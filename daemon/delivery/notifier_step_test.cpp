#include "daemon/delivery/notifier_step.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/delivery/fake_outbox.h"
#include "daemon/delivery/fake_receiver.h"
#include "daemon/delivery/late_words.h"

namespace coilward {
namespace {

const UtcTime kStart = *parse_rfc3339("2026-05-04T08:14:00Z");

std::string alert_json(UtcTime raised) {
  return nlohmann::ordered_json{{"raised", format_rfc3339(raised)}, {"subject", "S"}, {"text", "T"}}.dump();
}

struct NotifierStepTest : testing::Test {
  FakeClock clock{kStart};
  FakeOutbox box;
  SpareOutbox outbox{std::make_unique<FakeOutboxSource>(box)};
  std::shared_ptr<FakeReceiver::Log> log = std::make_shared<FakeReceiver::Log>();
  FakeReceiver receiver{log};
  NotifierStep steps{"mail", "email", "America/Boise", receiver, outbox, clock, 7};

  void answer(Outcome outcome, const std::string& words) {
    log->answer = [=](const std::string&) { return Delivered{outcome, words}; };
  }
  // Steps and moves the clock by what each step asks for, until `end` or until nothing waits.
  void run_until(UtcTime end) {
    while (clock.utc() < end) {
      const auto wait = steps.step();
      if (!wait) return;
      clock.advance(std::min<Millis>(*wait, end - clock.utc()));
    }
  }
};

TEST_F(NotifierStepTest, DeliversOldestFirstAndThenWaitsForAWake) {
  box.queue("a", alert_json(kStart), kStart);
  box.queue("b", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::hours{1});
  EXPECT_EQ(log->got.size(), 2u);
  EXPECT_EQ(box.count(FakeOutbox::State::done), 2u);
  EXPECT_EQ(box.row(1).words, "250 ok");
  EXPECT_EQ(steps.step(), std::nullopt);
}

TEST_F(NotifierStepTest, TriesFollowTheSchedule) {
  answer(Outcome::retry, "421 busy");
  std::vector<double> at;
  log->answer = [&](const std::string&) {
    at.push_back(seconds_between(kStart, clock.utc()));
    return Delivered{Outcome::retry, "421 busy"};
  };
  box.queue("a", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::minutes{30});
  ASSERT_GE(at.size(), 9u);
  double expected = 5;
  for (std::size_t i = 1; i < at.size(); ++i, expected = std::min(300.0, expected * 2)) {
    EXPECT_GE(at[i] - at[i - 1], expected * 0.8 - 0.01) << i;
    EXPECT_LE(at[i] - at[i - 1], expected * 1.2 + 0.01) << i;
  }
  EXPECT_EQ(steps.state().failures, static_cast<int>(at.size()));
  EXPECT_EQ(steps.state().last_words, "421 busy");
  EXPECT_TRUE(steps.state().stuck());
}

TEST_F(NotifierStepTest, GivesUpAfterADayAndCountsIt) {
  answer(Outcome::retry, "connection refused");
  box.queue("a", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::hours{24} - std::chrono::minutes{1});
  EXPECT_EQ(box.count(FakeOutbox::State::pending), 1u);
  run_until(kStart + std::chrono::hours{25});
  EXPECT_EQ(box.count(FakeOutbox::State::given_up), 1u);
  EXPECT_EQ(steps.state().given_up, 1u);
  EXPECT_EQ(steps.state().attempts, steps.state().retried + steps.state().given_up);
}

TEST_F(NotifierStepTest, WhatFailsThreeTimesOrIsRefusedIsHandedOver) {
  std::vector<std::string> handed;
  steps.hand_over_to([&](const WaitingAlert& alert) { handed.push_back(alert.alert); });
  answer(Outcome::retry, "421 busy");
  box.queue("a", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::seconds{9});
  EXPECT_EQ(log->got.size(), 2u);
  EXPECT_TRUE(handed.empty());
  run_until(kStart + std::chrono::seconds{20});
  EXPECT_EQ(log->got.size(), 3u);
  EXPECT_EQ(handed, std::vector<std::string>{"a"});
  EXPECT_EQ(box.count(FakeOutbox::State::pending), 1u) << "it is still tried here";
  answer(Outcome::done, "250 ok");
  run_until(kStart + std::chrono::minutes{10});
  answer(Outcome::refused, "550 no such user");
  box.queue("b", alert_json(kStart), clock.utc());
  steps.step();
  EXPECT_EQ(handed.back(), "b");
}

TEST(LateWords, AreCountedFromWhenItWasDueAndInTheReadersLanguage) {
  nlohmann::ordered_json alert = {{"raised", "2026-05-04T08:14:00Z"},
                                  {"due", "2026-05-04T13:00:00Z"},
                                  {"language", "es"},
                                  {"subject", "S"},
                                  {"text", "T"}};
  const auto at = [&](const char* now) {
    return nlohmann::json::parse(with_lateness(alert.dump(), *parse_rfc3339(now), "America/Boise"));
  };
  EXPECT_EQ(at("2026-05-04T13:09:00Z")["delayed"], false);
  const auto late = at("2026-05-04T15:00:00Z");
  EXPECT_EQ(late["subject"], "S (con retraso, ocurrió a las 02:14 MDT)");
  EXPECT_EQ(late["text"],
            "Con retraso: esto ocurrió lun 4 may 2026 02:14 MDT. No se pudo entregar antes de ahora, "
            "lun 4 may 2026 09:00 MDT.\n\nT");
}

TEST_F(NotifierStepTest, RefusedIsFinal) {
  answer(Outcome::refused, "550 no such user");
  box.queue("a", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::hours{2});
  EXPECT_EQ(log->got.size(), 1u);
  EXPECT_EQ(box.row(1).state, FakeOutbox::State::refused);
  EXPECT_EQ(box.row(1).words, "550 no such user");
}

TEST_F(NotifierStepTest, OneThatIsNeverTakenDoesNotHoldUpTheOthers) {
  log->answer = [](const std::string& json) {
    return json.find("poison") != json.npos ? Delivered{Outcome::retry, "451 no"}
                                            : Delivered{Outcome::done, "250 ok"};
  };
  box.queue("poison", R"({"text":"poison"})", kStart);
  for (int i = 0; i < 20; ++i) box.queue(std::to_string(i), alert_json(kStart), kStart);
  run_until(kStart + std::chrono::seconds{7});
  EXPECT_EQ(box.count(FakeOutbox::State::done), 20u);
}

// A week in which nothing gets through, an alert every ten minutes: exact counts, and it works again
// afterwards.
TEST_F(NotifierStepTest, AWeekOfADeadReceiverIsCountedExactly) {
  answer(Outcome::retry, "timed out");
  constexpr int kAlerts = 7 * 144;
  for (int i = 0; i < kAlerts; ++i) {
    box.queue("alert" + std::to_string(i), alert_json(clock.utc()), clock.utc());
    run_until(kStart + std::chrono::minutes{10 * (i + 1)});
  }
  const auto pending = box.count(FakeOutbox::State::pending);
  EXPECT_EQ(box.count(FakeOutbox::State::given_up), steps.state().given_up);
  EXPECT_EQ(pending + steps.state().given_up, static_cast<std::size_t>(kAlerts));
  EXPECT_GE(pending, 143u) << "a day's worth is kept";
  EXPECT_LE(pending, 147u) << "and no more";
  answer(Outcome::done, "250 ok");
  run_until(clock.utc() + std::chrono::minutes{10});
  EXPECT_EQ(steps.state().done, pending);
  EXPECT_EQ(box.count(FakeOutbox::State::pending), 0u);
  EXPECT_EQ(steps.state().dropped, 0u);
}

TEST_F(NotifierStepTest, AClockThatWasSetBackDoesNotHoldAlertsBack) {
  box.queue("a", alert_json(kStart), kStart);
  clock.jump_utc(kStart - std::chrono::hours{5});
  run_until(kStart - std::chrono::hours{4});
  EXPECT_EQ(log->got.size(), 1u);
}

TEST_F(NotifierStepTest, AnAlertFromBeforeTheClockWasSetIsTriedForADayToo) {
  answer(Outcome::retry, "no network yet");
  box.queue("a", alert_json(from_ms(5000)), from_ms(5000));
  run_until(kStart + std::chrono::hours{20});
  EXPECT_EQ(box.count(FakeOutbox::State::pending), 1u);
  run_until(kStart + std::chrono::hours{30});
  EXPECT_EQ(box.count(FakeOutbox::State::given_up), 1u);
}

TEST_F(NotifierStepTest, WhatComesLateSaysSo) {
  box.queue("a", alert_json(kStart), kStart);
  clock.advance(std::chrono::minutes{11});
  steps.step();
  const auto got = nlohmann::json::parse(log->got.at(0));
  EXPECT_EQ(got["delayed"], true);
  EXPECT_EQ(got["subject"], "S (delayed, happened at 02:14 MDT)");
  EXPECT_EQ(
      got["text"],
      "Delayed: this happened at Mon 4 May 2026 02:14 MDT. It could not be delivered before now, Mon 4 May "
      "2026 02:25 MDT.\n\nT");
}

TEST_F(NotifierStepTest, WhatComesInTimeDoesNot) {
  box.queue("a", alert_json(kStart), kStart);
  clock.advance(std::chrono::minutes{10});
  steps.step();
  EXPECT_EQ(nlohmann::json::parse(log->got.at(0))["delayed"], false);
  EXPECT_EQ(with_lateness("no alert", kStart, "UTC"), "no alert");
}

TEST_F(NotifierStepTest, AMarkThatCannotBeWrittenIsNotASecondMessage) {
  box.queue("a", alert_json(kStart), kStart);
  box.fail_writes(true);
  run_until(kStart + std::chrono::minutes{20});
  EXPECT_EQ(log->got.size(), 1u);
  EXPECT_EQ(steps.state().trouble, "disk full");
  box.fail_writes(false);
  run_until(kStart + std::chrono::minutes{30});
  EXPECT_EQ(log->got.size(), 1u);
  EXPECT_EQ(box.row(1).state, FakeOutbox::State::done);
}

TEST_F(NotifierStepTest, AnUnsavedAlertIsDeliveredOnceAlsoWhenItIsSavedLater) {
  box.queue("stuck", alert_json(kStart), kStart);
  box.fail_writes(true);
  run_until(kStart + std::chrono::seconds{1});
  outbox.put({0, "b", alert_json(kStart), clock.utc(), 0});
  run_until(kStart + std::chrono::seconds{2});
  EXPECT_EQ(log->got.size(), 2u) << "not held up by the disk";
  box.fail_writes(false);
  box.queue("b", alert_json(kStart), kStart);
  run_until(kStart + std::chrono::minutes{5});
  EXPECT_EQ(log->got.size(), 2u);
  EXPECT_EQ(box.count(FakeOutbox::State::done), 2u);
}

TEST_F(NotifierStepTest, UnsavedAlertsAreBoundedAndCounted) {
  for (int i = 0; i < 300; ++i) outbox.put({0, std::to_string(i), "{}", kStart, 0});
  EXPECT_EQ(outbox.dropped(), 300 - kMostSpare);
  run_until(kStart + std::chrono::minutes{1});
  EXPECT_EQ(log->got.size(), kMostSpare);
}

TEST_F(NotifierStepTest, ATestReturnsTheOtherSidesWordsAndTouchesNoAlert) {
  answer(Outcome::refused, "535 5.7.8 bad credentials");
  EXPECT_EQ(steps.test(alert_json(kStart)).words, "535 5.7.8 bad credentials");
  EXPECT_EQ(steps.state().refused, 0u);
  EXPECT_EQ(steps.state().failures, 0);
}

}  // namespace
}  // namespace coilward
