#include "daemon/locate/test_reading.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/locate/locate_site.h"

namespace coilward {
namespace {

class Entered : public testing::Test {
 protected:
  Result<TestReading> enter(const std::string& text) { return reading_from_json(Json::parse(text), path); }
  Config config = row_of_boxes({18, 31, 25});
  WirePath path = wire_path(config, 2);
};

TEST_F(Entered, AllThreeFormsAreKeptAndReadBack) {
  for (const char* text :
       {R"({"at": "A", "volts_on": 26.1, "by": "Ana"})", R"({"at": "controller", "volts_on": 0})",
        R"({"at": "B", "ohms": 33, "toward": "valve"})",
        R"({"at": "A", "ohms": 1e9, "toward": "controller"})",
        R"({"at": "B", "source_volts": 40, "volts_to_earth": 35, "conductor": "common"})"}) {
    const auto reading = enter(text);
    ASSERT_TRUE(reading) << text << reading.error().what;
    const auto again = reading_from_text(reading_to_json(*reading).dump(), reading->taken);
    ASSERT_TRUE(again) << again.error().what;
    EXPECT_EQ(reading_to_json(*again), reading_to_json(*reading));
    EXPECT_EQ(again->zone, 2);
  }
}

TEST_F(Entered, WhatCannotBeIsRefusedWithWordsThatHelp) {
  const std::pair<const char*, const char*> wrong[] = {
      {R"({"at": "Z", "volts_on": 26})", "controller, A, B"},
      {R"({"at": "C", "volts_on": 26})", "controller, A, B"},  // not on the way to zone 2
      {R"({"volts_on": 26})", "at is \"\""},
      {R"({"at": "A"})", "give one reading"},
      {R"({"at": "A", "volts_on": 26, "ohms": 3, "toward": "valve"})", "give one reading"},
      {R"({"at": "A", "volts_on": "26 V"})", "from 0 to 60 (V)"},
      {R"({"at": "A", "volts_on": -1})", "from 0 to 60 (V)"},
      {R"({"at": "A", "volts_on": 26100})", "millivolts"},
      {R"({"at": "A", "volts_on": 230})", "licensed electrician"},
      {R"({"at": "A", "ohms": 33})", "toward is missing: allowed are valve and controller"},
      {R"({"at": "A", "ohms": 33, "toward": "east"})", "allowed are valve and controller"},
      {R"({"at": "A", "ohms": -3, "toward": "valve"})", "from 0"},
      {R"({"at": "A", "volts_on": 26, "toward": "valve"})", "toward goes with ohms"},
      {R"({"at": "A", "source_volts": 40, "conductor": "zone"})", "volts_to_earth is missing"},
      {R"({"at": "A", "source_volts": 40, "volts_to_earth": 35})", "conductor is missing"},
      {R"({"at": "A", "volts_to_earth": 35, "conductor": "zone"})", "goes with source_volts"},
      {R"({"at": "A", "source_volts": 40, "volts_to_earth": 60, "conductor": "zone"})", "from 0 to 44 (V)"},
      {R"({"at": "A", "source_volts": 0, "volts_to_earth": 0, "conductor": "zone"})", "from 5 to 120"},
      {R"({"at": "controller", "source_volts": 40, "volts_to_earth": 35, "conductor": "zone"})",
       "measure it at a box"},
  };
  for (const auto& [text, words] : wrong) {
    const auto reading = enter(text);
    ASSERT_FALSE(reading) << text;
    EXPECT_EQ(reading.error().cause, Cause::bad_input);
    EXPECT_THAT(reading.error().what, testing::HasSubstr(words)) << text;
  }
}

TEST_F(Entered, WhatOthersWroteIntoTheTableIsNoReading) {
  for (const char* text : {"", "[]", "{}", R"({"zone": "2"})", R"({"zone": 2, "at": "A"})"})
    EXPECT_FALSE(reading_from_text(text, kNever)) << text;
}

TEST_F(Entered, AZoneWithoutABoxIsMeasuredAtItsValve) {
  config.zones[1].box = -1;
  path = wire_path(config, 2);
  EXPECT_TRUE(enter(R"({"at": "valve", "volts_on": 26})"));
  EXPECT_FALSE(enter(R"({"at": "A", "volts_on": 26})"));
}

}  // namespace
}  // namespace coilward
