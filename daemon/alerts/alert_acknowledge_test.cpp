// Who acknowledges hears no more of it, until there is something else to hear.
#include "daemon/alerts/alert_book_fixture.h"

namespace coilward {
namespace {

TEST_F(BookTest, AnAcknowledgedFindingIsQuietUntilItEnds) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(2));
  EXPECT_TRUE(book.acknowledge(f.id, "anna", at_hours(2)));
  EXPECT_EQ(book.acknowledged_by(f.id), "anna");
  hear(ended(f, at_hours(50)), at_hours(50));
  run_until(at_hours(240));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "repeat 1.0", "closed 50.0"}));
  EXPECT_EQ(book.acknowledge(f.id, "anna", at_hours(241)).error().cause, Cause::not_found);
}

Finding with_repair(Finding f, std::optional<bool> proved) {
  RepairProof proof;
  proof.marked = f.opened;
  proof.proved = proved;
  f.repair = proof;
  return f;
}

TEST_F(BookTest, ARepairThatDidNotHoldIsNewsOnceForEachRepair) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.5));
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.5)));
  hear(with_repair(f, std::nullopt), at_hours(2));
  hear(with_repair(f, false), at_hours(3));
  run_until(at_hours(4));
  AlertBook other(config);
  ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
  book = std::move(other);
  hear(with_repair(f, false), at_hours(5));
  hear(with_repair(f, std::nullopt), at_hours(6));
  hear(with_repair(f, false), at_hours(7));
  hear(ended(with_repair(f, true), at_hours(9)), at_hours(9));
  run_until(at_hours(20));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "worse 3.0", "worse 7.0", "closed 9.0"}));
  EXPECT_TRUE(said[1].subject.find("Not repaired: ") != std::string::npos) << said[1].subject;
  EXPECT_TRUE(said[3].subject.find("Repaired: ") != std::string::npos) << said[3].subject;
}

TEST_F(BookTest, ASnoozeEndsByItselfAndTheStateIsSaid) {
  const Finding f = test_finding(4);
  hear(f, test_start());
  run_until(at_hours(0.5));
  EXPECT_EQ(book.acknowledge(f.id, "anna", at_hours(0.5), at_hours(0.4)).error().cause, Cause::bad_input);
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_hours(0.5), at_hours(8.5)));
  EXPECT_EQ(book.acknowledged_until(f.id), at_hours(8.5));
  EXPECT_FALSE(book.unanswered(f.id));
  run_until(at_hours(2));
  AlertBook other(config);
  ASSERT_TRUE(other.restore(Json::parse(book.save().dump())));
  book = std::move(other);
  run_until(at_hours(30));
  EXPECT_EQ(kinds_and_minutes(), (BookList{"opened 0.0", "repeat 8.5", "repeat 24.0"}));
  EXPECT_TRUE(book.unanswered(f.id));
  EXPECT_EQ(book.acknowledged_by(f.id), "");
  std::set<std::string> ids;
  for (const auto& alert : said) ids.insert(alert.id);
  EXPECT_EQ(ids.size(), said.size());
}

TEST_F(BookTest, AcknowledgedBeforeItWasToldIsNotTold) {
  config.alerts.hold_s = 600;
  const Finding f = test_finding(4);
  hear(f, test_start());
  ASSERT_TRUE(book.acknowledge(f.id, "anna", at_seconds(60)));
  run_until(at_hours(48));
  EXPECT_TRUE(said.empty());
}

}  // namespace
}  // namespace coilward
