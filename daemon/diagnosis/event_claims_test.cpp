#include "daemon/diagnosis/event_claims.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace coilward {
namespace {

using std::chrono::hours;

struct Site {
  Config config;
  std::vector<Finding> told;
  FindingBook book{[this](const Finding& finding) { told.push_back(finding); }};
  std::unique_ptr<EventClaims> events;
  UtcTime now = *parse_rfc3339("2026-07-10T12:00:00Z");

  Site() {
    config.commons.push_back({"main", {2.08, 14, false}});
    for (int number : {1, 2, 3}) {
      config.zones.emplace_back();
      config.zones.back().number = number;
    }
    events = std::make_unique<EventClaims>(config, book);
  }
  void event(IdleKind kind, Channel channel, double value = kNotMeasured) {
    events->idle({kind, channel, now, now, value, kNotMeasured}, [](int) { return 0.24; });
  }
  void ran(int zone) {
    Run run;
    run.zone = zone;
    run.readings = 60;
    events->heard_run(run, now);
  }
  const Finding& only() const {
    EXPECT_EQ(book.open().size(), 1U);
    static const Finding kNone;
    return book.open().empty() ? kNone : book.open()[0];
  }
};

constexpr Channel kSupply{ChannelKind::supply_voltage, 0};

TEST(EventClaims, SilenceOfAllIsTheSupplysOrTheCommons) {
  Site site;
  site.events->all_silent(site.now - hours(24 * 7), false, kNotMeasured, site.now);
  EXPECT_EQ(site.only().fault, Fault::supply_lost);
  EXPECT_EQ(site.only().zones, (std::vector<int>{1, 2, 3}));
  ASSERT_FALSE(site.only().alternatives.empty());
  EXPECT_EQ(site.only().alternatives[0].fault, Fault::failed_common);
  EXPECT_EQ(
      site.only().summary,
      "Zones 1, 2 and 3: nothing has drawn current for 7 days, longer than any pause or rain delay. Most "
      "likely the transformer's low side is dead. If it was switched off on purpose, all is well.");
  site.ran(2);
  EXPECT_TRUE(site.book.open().empty());
}

TEST(EventClaims, WithVoltsThereItIsTheCommon) {
  Site site;
  site.events->all_silent(site.now - hours(24 * 7), false, 27.1, site.now);
  EXPECT_EQ(site.only().fault, Fault::failed_common);
  EXPECT_EQ(site.only().common, "main");
}

TEST(EventClaims, WhereTheControllerSaysWhatItDoesItIsTheControllers) {
  Site site;
  site.events->all_silent(site.now - hours(24 * 7), true, 27.1, site.now);
  EXPECT_EQ(site.only().fault, Fault::missed_run);
}

TEST(EventClaims, DeadSupplyIsOneFindingUntilTheVoltsAreBack) {
  Site site;
  site.event(IdleKind::supply_lost, kSupply, 0.2);
  EXPECT_EQ(site.only().fault, Fault::supply_lost);
  EXPECT_EQ(site.only().zones.size(), 3U);
  site.events->all_silent(site.now - hours(24 * 7), false, 0.2, site.now);
  EXPECT_EQ(site.book.open().size(), 1U) << "the same cause";
  site.event(IdleKind::supply_back, kSupply, 27);
  EXPECT_TRUE(site.book.open().empty());
}

// What a zone carries while off is an output's or a sensor's, and the next run tells: one finding, two names.
TEST(EventClaims, WhatSeemedStuckOnMayBeAMovedZero) {
  Site site;
  site.event(IdleKind::uncommanded, {ChannelKind::zone_current, 2}, 0.11);
  EXPECT_EQ(site.only().fault, Fault::stuck_on);
  EXPECT_LT(site.only().probability, 0.7) << "half of what the coil takes";
  const std::string id = site.only().id;
  EventClaims restarted(site.config, site.book);
  restarted.restore(site.events->save());
  EXPECT_DOUBLE_EQ(restarted.uncommanded_amps(2), 0.11);
  restarted.zero_moved(2, site.now);
  EXPECT_EQ(site.only().fault, Fault::sensor_fault);
  EXPECT_EQ(site.only().id, id);
  restarted.idle({IdleKind::uncommanded_over, {ChannelKind::zone_current, 2}, site.now, site.now, 0, 0},
                 [](int) { return 0.24; });
  EXPECT_TRUE(site.book.open().empty());
  EXPECT_FALSE(measured(restarted.uncommanded_amps(2)));
}

TEST(EventClaims, SensorThatNeverSpokeAsksForItsTopic) {
  Site site;
  site.event(IdleKind::never_heard, {ChannelKind::zone_current, 2});
  EXPECT_EQ(site.only().fault, Fault::sensor_fault);
  EXPECT_NE(site.only().summary.find("topic"), std::string::npos) << site.only().summary;
  const Json saved = site.events->save();
  EventClaims other(site.config, site.book);
  other.restore(saved);
  EXPECT_EQ(other.save(), saved);
  site.event(IdleKind::heard_again, {ChannelKind::zone_current, 2}, 0.001);
  EXPECT_TRUE(site.book.open().empty());
}

TEST(EventClaims, WhatNeverRanIsBrokenOrInNoProgramme) {
  Site site;
  site.events->never_ran(2, false, site.now);
  EXPECT_EQ(site.only().fault, Fault::open_circuit);
  EXPECT_LT(site.only().probability, 0.8);
  EXPECT_EQ(site.only().alternatives.at(0).fault, Fault::missed_run);
  site.ran(1);
  EXPECT_EQ(site.book.open().size(), 1U);
  site.ran(2);
  EXPECT_TRUE(site.book.open().empty());
  site.events->never_ran(3, true, site.now);
  EXPECT_EQ(site.only().fault, Fault::missed_run);
}

TEST(EventClaims, AllBeyondOneStretchNeverRanForItsBreak) {
  Site site;
  site.config.boxes = {{"A", "controller", 20, -1}, {"B", "A", 20, 0}};
  site.events->never_ran_beyond({0, 1, {1, 2}}, {2, 3}, site.now);
  EXPECT_EQ(site.only().fault, Fault::failed_common);
  EXPECT_EQ(site.only().zones, (std::vector<int>{2, 3}));
  ASSERT_EQ(site.only().where.size(), 1U);
  EXPECT_EQ(site.only().where[0].to, "B");
  site.ran(3);
  EXPECT_TRUE(site.book.open().empty());
}

}  // namespace
}  // namespace coilward
