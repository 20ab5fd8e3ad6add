// A repair is proved by what its zone draws afterwards, and disproved by it.
#include "daemon/diagnosis/repair_trial.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/diagnosis/fake_site.h"

namespace coilward {
namespace {

struct Repairs : testing::Test {
  FakeSite site{4};
  std::vector<Finding> told;
  Diagnosis diagnosis{site.config, [this](const Finding& f) { told.push_back(f); }};
  struct Listener : RunListener {
    Diagnosis* diagnosis = nullptr;
    RunTracker* runs = nullptr;
    void on_look(const coilward::Run& run, Look look) override {
      diagnosis->look(run, look, runs->context().now);
    }
    void on_idle(const IdleEvent& event) override { diagnosis->idle(event); }
  } listener;
  RunTracker runs{site.config, listener};

  Repairs() {
    listener.diagnosis = &diagnosis;
    listener.runs = &runs;
    for (int day = 0; day < 8; ++day) site.water(runs);
  }
  void water(int days = 1) {
    for (int day = 0; day < days; ++day) site.water(runs);
  }
  FakeZone& zone4() { return site.zones[3]; }
  void break_and_repair(bool new_coil = false) {
    zone4().open = true;
    water();
    ASSERT_EQ(diagnosis.open_findings().size(), 1U);
    diagnosis.repaired({4}, new_coil, site.now);
    zone4().open = false;
  }
  const Finding& open() const { return diagnosis.open_findings().at(0); }
  std::string words() const {
    std::string text;
    for (const auto& f : told) text += f.close_reason + " | " + f.summary + "\n";
    return text;
  }
};

TEST_F(Repairs, ClosesWithBeforeAndAfter) {
  break_and_repair();
  EXPECT_FALSE(open().repair->proved);
  water();
  ASSERT_TRUE(diagnosis.open_findings().empty()) << words();
  const Finding& closed = told.back();
  EXPECT_TRUE(*closed.repair->proved);
  const RepairedZone& z = closed.repair->zones.at(0);
  EXPECT_NEAR(z.after_amps, z.before_amps, 0.02 * z.before_amps);
  EXPECT_LT(z.fault_amps, 0.005);
  EXPECT_GT(z.after_amps, z.low_amps);
  EXPECT_LT(z.high_amps / z.low_amps, 1.7);
  EXPECT_EQ(closed.close_reason.find("repaired: Zone 4 draws 0.2"), 0U) << closed.close_reason;
  EXPECT_NE(closed.close_reason.find("with the fault it drew 0.00"), std::string::npos)
      << closed.close_reason;
}

TEST_F(Repairs, HalfOfItIsNotEnoughAndIsNotLearned) {
  break_and_repair();
  zone4().splice_ohms = 120;
  water(6);
  ASSERT_EQ(diagnosis.open_findings().size(), 1U) << words();
  EXPECT_FALSE(*open().repair->proved);
  EXPECT_NE(open().fault, Fault::open_circuit) << "it draws again";
  EXPECT_EQ(open().summary.find("Not repaired: Zone 4 draws 0.1"), 0U) << open().summary;
  EXPECT_NEAR(open().repair->zones[0].left_ohms, 120, 15) << open().summary;
  zone4().splice_ohms = 0;
  water();
  EXPECT_TRUE(diagnosis.open_findings().empty()) << words();
}

TEST_F(Repairs, StillDeadSaysSo) {
  break_and_repair();
  zone4().open = true;
  water();
  ASSERT_EQ(diagnosis.open_findings().size(), 1U);
  EXPECT_EQ(open().fault, Fault::open_circuit);
  EXPECT_NE(open().summary.find("still broken"), std::string::npos) << open().summary;
}

TEST_F(Repairs, AnotherCoilIsJudgedByItsRating) {
  break_and_repair(true);
  zone4().coil_ohms = 34, zone4().seated_ohms = 107;  // draws an eighth less than the old one
  water();
  ASSERT_TRUE(diagnosis.open_findings().empty()) << words();
  const RepairedZone& z = told.back().repair->zones.at(0);
  EXPECT_TRUE(z.by_circuit);
  EXPECT_LT(z.after_amps, 0.93 * z.before_amps) << "the old one stays as context";
  water(6);
  EXPECT_TRUE(diagnosis.open_findings().empty()) << words();
  EXPECT_NEAR(diagnosis.normal(4, kNotMeasured).hold_amps, z.after_amps, 0.03 * z.after_amps);
}

TEST_F(Repairs, AnotherCoilThatWasNotSaidIsAskedFor) {
  break_and_repair();
  zone4().coil_ohms = 40, zone4().seated_ohms = 126;
  water();
  ASSERT_EQ(diagnosis.open_findings().size(), 1U) << words();
  EXPECT_NE(open().summary.find("--new-coil"), std::string::npos) << open().summary;
  diagnosis.repaired({4}, true, site.now);
  water(2);
  EXPECT_EQ(diagnosis.open_findings().size(), 1U) << "a quarter below the rating is another coil or a splice";
}

TEST_F(Repairs, WhatIsOnTrialOutlivesARestart) {
  break_and_repair();
  const Json saved = diagnosis.save();
  Diagnosis again(site.config, [this](const Finding& f) { told.push_back(f); });
  ASSERT_TRUE(again.restore(saved));
  EXPECT_EQ(again.save().dump(), saved.dump());
  listener.diagnosis = &again;
  zone4().splice_ohms = 120;
  water(3);
  ASSERT_EQ(again.open_findings().size(), 1U) << words();
  EXPECT_EQ(again.open_findings()[0].summary.find("Not repaired"), 0U);
}

TEST_F(Repairs, ASpliceIsToldInOhms) {
  zone4().splice_ohms = 60;
  water(6);
  ASSERT_EQ(diagnosis.open_findings().size(), 1U) << words();
  diagnosis.repaired({4}, false, site.now);
  EXPECT_NEAR(open().repair->zones[0].fault_ohms, 60, 15);
  zone4().splice_ohms = 0;
  water(2);
  ASSERT_TRUE(diagnosis.open_findings().empty()) << words();
  EXPECT_NE(told.back().close_reason.find("ohms too many"), std::string::npos) << told.back().close_reason;
}

TEST(AddedOhms, IsWhatTheCircuitGained) {
  EXPECT_NEAR(added_ohms(30, 95, std::hypot(30, 95) / std::hypot(75, 95)), 45, 1e-9);
  EXPECT_TRUE(std::isnan(added_ohms(30, 95, 1.1)));
  EXPECT_TRUE(std::isnan(added_ohms(30, 95, 0)));
}

}  // namespace
}  // namespace coilward
