// Real files of a site; the messages made of them, and what a month of them costs.
#include "daemon/fleet/uplink/site_parcels.h"

#include <gtest/gtest.h>

#include <deque>
#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>
#include <random>
#include <set>

#include "daemon/fleet/uplink/uplink_step.h"
#include "daemon/history/history_store.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

const UtcTime kStart = *parse_rfc3339("2026-05-01T00:00:00Z");

Config twelve_zones() {
  Config config;
  config.site = {"larch-court-3", "Larch Court 3", "Europe/Berlin"};
  config.commons.push_back({"main", {}});
  for (int zone = 1; zone <= 12; ++zone) config.zones.push_back({zone, "Bed " + std::to_string(zone)});
  config.history.commit_s = 300;
  return config;
}

using RunList = std::vector<Run>;  // the fixture has a Run of its own

Run run_of(int zone, UtcTime start) {
  Run r;
  r.zone = zone;
  r.start = start;
  r.end = start + 10min;
  r.ended = RunEnd::switched_off;
  r.hold_amps = 0.231 + 0.001 * zone;
  return r;
}

class SiteParcelsTest : public ::testing::Test {
 protected:
  SiteParcelsTest() { config_.fleet.every_minutes = 60; }

  SiteParcels parcels() {
    return SiteParcels(config_, directory_ / "history.db", directory_ / "state.db", "0.1.0");
  }
  void open_stores() {
    history_.emplace(std::move(*HistoryStore::open(directory_ / "history.db", ChannelNames(config_))));
    state_.emplace(std::move(*StateStore::open(directory_ / "state.db", config_.site.id)));
  }
  void say(Finding finding) {
    StateBatch batch;
    const std::vector<Finding> findings{std::move(finding)};
    batch.findings = findings;
    batch.now = kStart;
    ASSERT_TRUE(state_->commit(batch));
  }
  static Finding finding(int number, UtcTime at) {
    Finding f;
    f.id = "20260504-061209-z4-open_circuit-" + std::to_string(number);
    f.zones = {4};
    f.severity = Severity::urgent;
    f.probability = 0.9;
    f.opened = f.updated = at;
    f.summary = "Zone 4 took no current when it was switched on; its neighbours are normal.";
    return f;
  }
  // What comes next, with the marks moved as the outbox would.
  std::optional<Json> next(SiteParcels& from, UplinkKind kind, UtcTime now) {
    for (;;) {
      const auto parcel = from.next(kind, marks_, now);
      EXPECT_TRUE(parcel) << parcel.error().what;
      if (!parcel || !*parcel) return std::nullopt;
      for (const auto& [name, value] : (*parcel)->marks) marks_[name] = value;
      if (!(*parcel)->json.empty()) return Json::parse((*parcel)->json);
    }
  }

  TemporaryDirectory directory_;
  Config config_ = twelve_zones();
  std::optional<HistoryStore> history_;
  std::optional<StateStore> state_;
  UplinkMarks marks_;
};

TEST_F(SiteParcelsTest, FormsSaidSinceGoAsTheLatest) {
  open_stores();
  SiteParcels from = parcels();
  Finding one = finding(1, kStart), two = finding(2, kStart + 1s);
  say(one);
  say(two);
  one.updated = kStart + 5s;
  one.probability = 0.97;
  say(one);
  const auto body = next(from, UplinkKind::finding, kStart + 1min);
  ASSERT_TRUE(body);
  ASSERT_EQ(body->at("findings").size(), 2u);
  EXPECT_EQ(body->at("findings")[0].at("probability"), 0.97);
  EXPECT_FALSE(body->at("findings")[0].contains("site")) << "the topic says which site it is";
  EXPECT_FALSE(next(from, UplinkKind::finding, kStart + 1min));
  one.closed = one.updated = kStart + 9s;
  say(one);
  EXPECT_EQ(next(from, UplinkKind::finding, kStart + 1min)->at("findings").size(), 1u);
}

TEST_F(SiteParcelsTest, AnotherFileIsReadFromItsBeginning) {
  open_stores();
  SiteParcels from = parcels();
  for (int i = 0; i < 5; ++i) say(finding(i, kStart));
  ASSERT_TRUE(next(from, UplinkKind::finding, kStart));
  state_.reset();
  std::filesystem::rename(directory_ / "state.db", directory_ / "state.db.old");
  open_stores();
  Finding old = finding(8, kStart - 200 * 24h);
  old.closed = old.opened;
  say(old);
  say(finding(9, kStart));
  const auto body = next(from, UplinkKind::finding, kStart);
  ASSERT_TRUE(body);
  ASSERT_EQ(body->at("findings").size(), 1u) << "what was over long ago is left out";
  EXPECT_EQ(body->at("findings")[0].at("id"), finding(9, kStart).id);
}

TEST_F(SiteParcelsTest, RunsComeOnceInBatches) {
  open_stores();
  SiteParcels from = parcels();
  RunList runs;
  for (int i = 0; i < 1200; ++i) runs.push_back(run_of(i % 12 + 1, kStart + i * 15min));
  ASSERT_TRUE(history_->commit({{}, runs, {}}));
  std::set<std::pair<int, std::int64_t>> seen;
  const UtcTime now = kStart + 20 * 24h;
  int messages = 0;
  for (std::optional<Json> body; (body = next(from, UplinkKind::runs, now)); ++messages)
    for (std::size_t i = 0; i < body->at("zone").size(); ++i)
      EXPECT_TRUE(
          seen.emplace(body->at("zone")[i].get<int>(), body->at("start")[i].get<std::int64_t>()).second);
  EXPECT_EQ(seen.size(), 1200u);
  EXPECT_EQ(messages, 3);
  ASSERT_TRUE(history_->commit({{}, RunList{run_of(1, now)}, {}}));
  EXPECT_FALSE(next(from, UplinkKind::runs, now + 59min)) << "collected for an hour";
  EXPECT_TRUE(next(from, UplinkKind::runs, now + 61min));
}

TEST_F(SiteParcelsTest, TheSiteIsDescribedOnceAndWhenNamesChange) {
  open_stores();
  SiteParcels from = parcels();
  const auto body = next(from, UplinkKind::site, kStart);
  ASSERT_TRUE(body);
  EXPECT_EQ(body->at("zones").size(), 12u);
  EXPECT_FALSE(next(from, UplinkKind::site, kStart + 48h));
  config_.zones[3].name = "Roses";
  SiteParcels renamed = parcels();
  EXPECT_EQ(next(renamed, UplinkKind::site, kStart + 49h)->at("zones")[3].at("name"), "Roses");
}

// Twelve zones, each watered every other day, readings every ten seconds while on and every minute while off;
// one fault a month with five forms. Everything the step sends is counted.
TEST_F(SiteParcelsTest, AMonthOfTwelveZonesFitsAMegabyte) {
  config_.fleet.monthly_megabytes = 1;
  config_.fleet.every_minutes = 240;
  open_stores();
  SiteParcels from = parcels();
  FakeClock clock(kStart);
  std::deque<std::string> wire;
  auto outbox = UplinkOutbox::open(directory_ / "uplink.db", kStart);
  UplinkStep step(std::move(*outbox), from, clock, 1'000'000, 1800s,
                  [&](std::string payload) { wire.push_back(std::move(payload)); });
  step.connected(true);
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.0015);
  std::uint64_t payload_bytes = 0, hours = 0, runs_sent = 0;
  std::vector<Reading> readings;
  RunList runs;
  for (int hour = 0; hour < 30 * 24; ++hour) {
    const int watering =
        hour % 24 == 5 ? hour / 24 % 2 : -1;  // from five o'clock, six zones ten minutes each
    for (int zone = 1; zone <= 12; ++zone)
      for (int minute = 0; minute < 60; ++minute) {
        const bool on = watering >= 0 && (zone - 1) / 6 == watering && minute / 10 == (zone - 1) % 6;
        if (on && minute % 10 == 0) runs.push_back(run_of(zone, clock.utc() + minute * 1min));
        readings.push_back({{ChannelKind::zone_current, static_cast<std::uint8_t>(zone)},
                            clock.utc() + minute * 1min,
                            std::round(1000 * std::abs((on ? 0.231 : 0) + noise(random))) / 1000});
      }
    if (hour % 4 == 3) {
      ASSERT_TRUE(history_->commit({readings, runs, {}}));
      readings.clear();
      runs.clear();
    }
    if (hour >= 200 && hour < 205) {
      Finding f = finding(1, kStart);
      f.updated = clock.utc();
      say(f);
    }
    for (int half = 0; half < 2; ++half) {
      for (int i = 0; i < 4; ++i) {
        step.step();
        for (const auto& payload : std::exchange(wire, {})) {
          payload_bytes += payload.size();
          const auto read = read_uplink(payload);
          const auto body = Json::parse(unsqueeze_uplink_body(read->squeezed).value());
          if (read->head.kind == UplinkKind::runs) runs_sent += body.at("zone").size();
          if (read->head.kind == UplinkKind::history)
            for (const auto& [channel, columns] : body.at("hours").items())
              hours += columns.at("hour").size();
          step.heard({read->head.epoch, read->head.seq});
        }
      }
      clock.advance(30min);
    }
  }
  const UplinkState state = step.state();
  std::cout << "a month: " << state.sent << " messages, " << payload_bytes << " bytes of payload, "
            << state.month_bytes << " bytes on the link, " << runs_sent << " runs, " << hours
            << " hourly roll-ups\n";
  EXPECT_LT(state.month_bytes, 1'000'000u);
  EXPECT_EQ(runs_sent, 180u);
  EXPECT_GE(hours, 12u * 24 * 29) << "all of history, too";
}

}  // namespace
}  // namespace coilward
