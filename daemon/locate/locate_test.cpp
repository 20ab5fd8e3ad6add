// Each fault's places, and what test readings make of them.
#include "daemon/locate/locate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/locate/locate_site.h"

namespace coilward {
namespace {

using testing::HasSubstr;
class Locate : public LocateTest {};

TEST_F(Locate, ABrokenZoneIsInItsWireItsSplicesOrItsCoil) {
  const Location found = find(broken);
  EXPECT_EQ(found.zone, 3);
  EXPECT_FALSE(found.solved);
  EXPECT_EQ(found.places[0].from, "A");
  EXPECT_EQ(found.places[0].to, "B");
  EXPECT_GT(chance_of(found, PlaceKind::coil, "C"), 0.05);
  EXPECT_GT(chance_of(found, PlaceKind::splice, "C"), 0.03);
  EXPECT_GT(chance_of(found, PlaceKind::controller, ""), 0.01);
  EXPECT_EQ(chance_of(found, PlaceKind::segment, "D"), 0);
}

TEST_F(Locate, ZonesThatDrawClearTheCommonAsFarAsTheirBox) {
  const Location with = find(broken), without = find(broken, {}, {});
  EXPECT_LT(chance_of(with, PlaceKind::segment, "B", Conductor::common), 0.002);
  EXPECT_GT(chance_of(without, PlaceKind::segment, "B", Conductor::common), 0.05);
  // Only zone 2 draws: the common is whole as far as B, and open to doubt beyond.
  const Location part = find(broken, {{2, true, true}, {4, false, false}}, {});
  EXPECT_LT(chance_of(part, PlaceKind::segment, "B", Conductor::common), 0.002);
  EXPECT_GT(chance_of(part, PlaceKind::segment, "C", Conductor::common), 0.05);
  // A run from before the fault says less.
  const Location before = find(broken, {{4, true, false}}, {});
  EXPECT_GT(chance_of(before, PlaceKind::segment, "B", Conductor::common),
            10 * chance_of(with, PlaceKind::segment, "B", Conductor::common));
  // Zones on another common say nothing.
  config.commons.push_back({"other", config.commons[0].wire});
  config.zones[3].common = 1;
  EXPECT_GT(chance_of(find(broken, {{4, true, true}}, {}), PlaceKind::segment, "B", Conductor::common), 0.05);
}

TEST_F(Locate, ABrokenCommonIsWhereTheZonesThatDrawEnd) {
  Finding f = finding_of(Fault::failed_common, {3, 4});
  f.common = "main";
  for (const auto& where : {std::vector<Stretch>{}, std::vector<Stretch>{{"B", "C", 0.97}}}) {
    f.where = where;
    const Location found = find(f);
    EXPECT_EQ(found.places[0].conductor, Conductor::common);
    EXPECT_EQ(found.places[0].to, "C");
    EXPECT_GT(chance_of(found, PlaceKind::segment, "C", Conductor::common) +
                  chance_of(found, PlaceKind::splice, "C", Conductor::common) +
                  chance_of(found, PlaceKind::splice, "B", Conductor::common),
              0.95);
    ASSERT_TRUE(found.next);
    EXPECT_EQ(found.next->at, "C");
  }
  f.zones = {1, 2, 3, 4};
  f.where = {{"controller", "controller", 0.9}};
  EXPECT_EQ(find(f).places[0].kind, PlaceKind::controller);
}

TEST_F(Locate, SeveralCoilsHardlyFailTogether) {
  config.zones[2].valves = 3;
  EXPECT_LT(chance_of(find(broken), PlaceKind::coil, "C"), 0.02);
}

TEST_F(Locate, CorrosionIsInTheSplices) {
  const Location found = find(finding_of(Fault::high_resistance, {3}, 0.75));
  EXPECT_GT(chance_of(found, PlaceKind::splice, ""), 0.75);
  EXPECT_LT(chance_of(found, PlaceKind::coil, ""), 0.05);
  const Location common = find(finding_of(Fault::common_high_resistance, {3, 4}, 0.75));
  EXPECT_GT(chance_of(common, PlaceKind::splice, "C", Conductor::common), 0.5);
}

// The drop that the current's fall asks for shows which side of a box the ohms are on.
TEST_F(Locate, AWeakSpliceIsFoundByTheVoltsItTakes) {
  const Finding f = finding_of(Fault::high_resistance, {3}, 0.7);
  const WirePath path = wire_path(config, 3);
  const Ladder ladder = ladder_of(config, path, kNotMeasured);
  const Condition truth{Defect::series_ohms, splice_spot(2), series_ohms_for(ladder, 0.7), 1.03, 1};
  std::vector<TestReading> readings;
  for (const char* at : {"controller", "B", "C"})
    readings.push_back(volts_reading(3, at, volts_on_at(ladder, path.stop_named(at), truth)));
  EXPECT_GT(readings[1].value, readings[2].value + 3);
  const Location found = find(f, readings);
  EXPECT_EQ(found.places[0].at, "B");
  EXPECT_GT(found.places[0].probability, 0.7);
  EXPECT_TRUE(found.odd.empty()) << found.odd;
}

TEST_F(Locate, WithoutAClearReadingTheControllerGivesTheMeasure) {
  const Location found = find(finding_of(Fault::high_resistance, {3}, 0.8));
  ASSERT_TRUE(found.next);
  EXPECT_EQ(found.next->at, "controller");
  EXPECT_EQ(found.next->kind, ReadingKind::volts_on);
  const Location then =
      find(finding_of(Fault::high_resistance, {3}, 0.8), {volts_reading(3, "controller", 24.6)});
  ASSERT_TRUE(then.next);
  EXPECT_EQ(then.next->at, "B");
  EXPECT_GT(then.next->expect[0].low, then.next->expect[1].high);
  // So few ohms that no meter of volts tells them from none.
  EXPECT_FALSE(find(finding_of(Fault::high_resistance, {3}, 0.95)).next);
}

TEST_F(Locate, AFewLostTurnsAreInTheCoilAndADeadShortMayBeInTheWires) {
  const Location part = find(finding_of(Fault::shorted_coil, {3}, 1.4));
  EXPECT_EQ(part.places[0].kind, PlaceKind::coil);
  EXPECT_TRUE(part.solved);
  const Finding dead = finding_of(Fault::shorted_coil, {3}, 12);
  const Location full = find(dead);
  EXPECT_EQ(full.places[0].kind, PlaceKind::coil);
  EXPECT_FALSE(full.solved);
  ASSERT_TRUE(full.next);
  EXPECT_EQ(full.next->kind, ReadingKind::ohms);  // never switched on again for a reading
  EXPECT_THAT(full.next->caution, HasSubstr("Do not keep switching it on"));
  // A good coil behind C, seen from there.
  const Location wires = find(dead, {ohms_reading(3, "C", 34)});
  EXPECT_LT(chance_of(wires, PlaceKind::coil, ""), 0.05);
}

TEST_F(Locate, ALostValveIsItsCoilOrItsSplice) {
  config.zones[2].valves = 2;
  const Finding f = finding_of(Fault::partial_open, {3}, 0.5);
  const Location found = find(f);
  ASSERT_EQ(found.places.size(), 2U);
  ASSERT_TRUE(found.next);
  EXPECT_EQ(found.next->at, "C");
  EXPECT_EQ(find(f, {volts_reading(3, "C", 25.4)}).places[0].kind, PlaceKind::coil);
  EXPECT_EQ(find(f, {volts_reading(3, "C", 0.1)}).places[0].kind, PlaceKind::splice);
}

TEST_F(Locate, CrossedWiresAreWhereBothLie) {
  const Location found = find(finding_of(Fault::crossed_wires, {2, 4}, 2));
  EXPECT_EQ(chance_of(found, PlaceKind::segment, "C"), 0);
  EXPECT_GT(chance_of(found, PlaceKind::splice, "A") + chance_of(found, PlaceKind::splice, "B"), 0.4);
}

TEST_F(Locate, ALeakIsOnTheZoneWire) {
  const Finding f = finding_of(Fault::earth_leakage, {3}, 1.1);
  const Location found = find(f);
  EXPECT_EQ(chance_of(found, PlaceKind::segment, "B", Conductor::common), 0);
  ASSERT_TRUE(found.next);
  EXPECT_EQ(found.next->toward, Toward::controller);
  const Location beyond = find(f, {ohms_reading(3, found.next->at, kOpenOhms, Toward::controller)});
  EXPECT_LT(chance_of(beyond, PlaceKind::segment, "A"), 0.05);
}

TEST_F(Locate, APlungerIsAtItsValve) {
  const Location found = find(finding_of(Fault::plunger_not_seated, {3}, 1.7));
  EXPECT_EQ(found.places[0].kind, PlaceKind::coil);
  EXPECT_GT(found.places[0].probability, 0.8);
}

TEST_F(Locate, WhatIsNotInTheGroundIsAtTheControllerOrNowhere) {
  for (Fault fault : {Fault::supply_low, Fault::supply_lost, Fault::stuck_on, Fault::missed_run}) {
    const Location found = find(finding_of(fault, {1, 2, 3, 4}));
    ASSERT_EQ(found.places.size(), 1U);
    EXPECT_EQ(found.places[0].kind, PlaceKind::controller);
    EXPECT_FALSE(found.next);
  }
  const Location sensor = find(finding_of(Fault::sensor_fault, {3}));
  EXPECT_TRUE(sensor.places.empty());
  EXPECT_FALSE(sensor.next);
  EXPECT_FALSE(sensor.solved);
  EXPECT_EQ(location_to_json(find(finding_of(Fault::sensor_fault, {})))["zone"], nullptr);
}

TEST_F(Locate, NotesRaiseWhatTheyAreAbout) {
  const double before = chance_of(find(broken), PlaceKind::segment, "A");
  config.boxes[0].dug = true;
  EXPECT_GT(chance_of(find(broken), PlaceKind::segment, "A"), 2 * before);
  const double splice = chance_of(find(broken), PlaceKind::splice, "B");
  config.boxes[1].repaired = true;
  EXPECT_GT(chance_of(find(broken), PlaceKind::splice, "B"), 2 * splice);
  config.boxes[1].repaired = false;
  config.boxes[1].splices = 3;
  EXPECT_GT(chance_of(find(broken), PlaceKind::splice, "B"), 2 * splice);
  config.boxes[1].splices = 0;
  EXPECT_LT(chance_of(find(broken), PlaceKind::splice, "B"), 0.2 * splice);
}

TEST_F(Locate, WithoutBoxesTheWireIsOnePieceToTheValve) {
  config.boxes.clear();
  for (auto& zone : config.zones) zone.box = -1;
  const Location found = find(broken);
  EXPECT_GT(chance_of(found, PlaceKind::segment, kValveName), 0.2);
  EXPECT_GT(chance_of(found, PlaceKind::coil, kValveName), 0.1);
  ASSERT_TRUE(found.next);
  EXPECT_EQ(found.next->at, kValveName);
  const Location dead = find(broken, {volts_reading(3, kValveName, 0.1)});
  EXPECT_LT(chance_of(dead, PlaceKind::coil, kValveName), 0.01);
}

TEST_F(Locate, JsonIsThatOfTheContract) {
  const Json json = location_to_json(find(broken));
  std::vector<std::string> names;
  for (const auto& [name, value] : json.items()) names.push_back(name);
  EXPECT_EQ(names, (std::vector<std::string>{"finding", "zone", "solved", "places", "next"}));
  names.clear();
  for (const auto& [name, value] : json["next"].items()) names.push_back(name);
  EXPECT_EQ(names, (std::vector<std::string>{"reading", "zone", "at", "minutes", "expect", "caution"}));
  EXPECT_EQ(json["next"]["reading"], "volts_on");
  EXPECT_EQ(json["next"]["at"], "B");
  ASSERT_EQ(json["next"]["expect"].size(), 2U);
  EXPECT_EQ(json["next"]["expect"][0]["if"], "beyond");
  // Around the supply's volts with nothing on, and nearly none.
  EXPECT_NEAR(json["next"]["expect"][0]["low"].get<double>(), 22, 0.5);
  EXPECT_NEAR(json["next"]["expect"][0]["high"].get<double>(), 28, 0.5);
  EXPECT_EQ(json["next"]["expect"][1], (Json{{"if", "before"}, {"low", 0.0}, {"high", 2.0}}));
  EXPECT_THAT(json["next"]["caution"].get<std::string>(), HasSubstr("wet box"));
  for (const Json& place : json["places"]) {
    const bool coil = place["kind"] == "coil", segment = place["kind"] == "segment";
    EXPECT_EQ(place.contains("zone"), coil);
    EXPECT_EQ(place.contains("from") && place.contains("to"), segment);
    EXPECT_EQ(place.contains("conductor"), segment || place["kind"] == "splice");
    EXPECT_EQ(place.contains("at"), coil || place["kind"] == "splice");
  }
}

// However long the row, an answer comes while someone waits for it.
TEST_F(Locate, ALongRowIsPlannedInTime) {
  for (const std::size_t boxes : {20U, 120U}) {
    config = row_of_boxes(std::vector<double>(boxes, 30));
    const int last = static_cast<int>(boxes);
    const auto start = std::chrono::steady_clock::now();
    const Location found = find(finding_of(Fault::open_circuit, {last}), {}, {});
    EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds{5});
    ASSERT_TRUE(found.next);
    const Location after =
        find(finding_of(Fault::open_circuit, {last}), {}, {volts_reading(last, found.next->at, 0.2)});
    EXPECT_TRUE(after.next);
  }
}

}  // namespace
}  // namespace coilward
