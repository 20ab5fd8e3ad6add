// No data is no good news: what is open stays open while nothing is heard, one message says that nothing is,
// and what comes afterwards is judged anew.
#include <gmock/gmock.h>

#include "tests/site/driven_site.h"

namespace coilward {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using testing::HasSubstr;

class LostLink : public DrivenSite {
 protected:
  // What went out, by kind ("opened", "closed", "installation") and whether its text has this.
  int told(const std::string& kind, const std::string& part = "") const {
    int count = 0;
    for (const OutboxRow& row : committed(&CommitUnit::outbox)) {
      const Json alert = Json::parse(row.json);
      count += alert["kind"] == kind && alert["text"].get<std::string>().find(part) != std::string::npos;
    }
    return count;
  }
  void broken_wire() {
    learn();
    run(4, 0.001);
    pass(minutes(1));
    ASSERT_EQ(site->findings(false)->size(), 1U);
    ASSERT_EQ(told("opened"), 1);
  }
  // Nothing comes through, and the daemon says why.
  void lose_link(Millis length) {
    for (Millis passed{0}; passed < length; passed += minutes(1)) {
      site->troubles({{"broker", Severity::soon, {{"why", "nothing listens there."}}}});
      pass(minutes(1));
    }
    site->troubles({});
    pass(minutes(1));
  }
};

TEST_F(LostLink, AZoneAlertStaysOpenAndOneMessageSaysThatNothingIsHeard) {
  broken_wire();
  lose_link(hours(12));
  EXPECT_EQ(told("closed"), 0);
  EXPECT_EQ(told("opened"), 1) << "nothing is said of the other zones";
  EXPECT_EQ(told("installation", "no news is not good news"), 1);
  EXPECT_EQ(told("installation", "This is over: The broker cannot be reached."), 1);
  EXPECT_EQ(told("installation"), 2);
  ASSERT_EQ(site->findings(false)->size(), 1U);
  EXPECT_EQ(site->findings(false)->front().fault, Fault::open_circuit);
}

TEST_F(LostLink, WhatComesAfterwardsIsJudgedAnew) {
  broken_wire();
  lose_link(hours(12));
  run(3, 0.232);
  EXPECT_EQ(site->findings(false)->size(), 1U) << "another zone's run says nothing of this one";
  for (int days = 0; days < 4 && !site->findings(false)->empty(); ++days) day(0.230);
  pass(minutes(1));
  EXPECT_TRUE(site->findings(false)->empty());
  EXPECT_EQ(told("closed"), 1);
}

TEST_F(LostLink, ADeadWireIsStillDeadAfterwards) {
  broken_wire();
  lose_link(hours(12));
  run(4, 0.001);
  pass(minutes(1));
  ASSERT_EQ(site->findings(false)->size(), 1U);
  EXPECT_EQ(told("opened"), 1) << "known already";
  EXPECT_EQ(told("closed"), 0);
}

}  // namespace
}  // namespace coilward
