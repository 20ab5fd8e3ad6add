// A technician with a script, and sensors that do what the last word to the technician was.
#include "daemon/commission/commission.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <map>
#include <sstream>

#include "daemon/commission/coil_check.h"
#include "daemon/commission/first_config.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr std::string_view kStart = R"(# what the installer left
[site]
id = "birch-lane-7"
[mqtt]
url = "mqtt://192.168.1.10"   # in the shed
[[zone]]
number = 1
[[zone]]
number = 2
[[zone]]
number = 3
[[notifier]]
name = "phone"
plugin = "command"
run = ["/usr/bin/true"]
)";

class Commissioning : public testing::Test {
 protected:
  // Which sensors show what while a zone is on.
  std::map<int, std::map<int, double>> shows = {{1, {{1, 0.231}}}, {2, {{2, 0.229}}}, {3, {{3, 0.226}}}};
  std::map<int, double> refused;  // by zone that is on: its own sensor gives this
  std::ostringstream words;
  int looks = 0;

  int zone_on() const {
    const std::string text = words.str();
    const auto on = text.rfind(" on at the controller"), off = text.rfind(" off, then");
    if (on == std::string::npos || (off != std::string::npos && off > on)) return 0;
    // The prompt stands when it is on; the answer follows it.
    return std::stoi(text.substr(text.rfind("zone ", on) + 5));
  }
  LiveZones live() {
    ++looks;
    LiveZones zones;
    for (const int number : {1, 2, 3}) {
      LiveZone zone{number, 0.0005, from_ms(1'000'000 + looks)};
      if (const int on = zone_on(); on > 0) {
        if (shows[on].contains(number)) zone.amps = shows[on][number];
        if (number == on && refused.contains(on)) zone.refused = refused[on];
      }
      zones.push_back(zone);
    }
    return zones;
  }
  Result<Commissioned> walk(const std::string& answers) {
    std::istringstream in(answers);
    TerminalDialogue dialogue(in, words);
    CommissionLinks links{[this] { return Result<LiveZones>(live()); }, [](Millis) {}, 5, 0.4};
    return commission_site(dialogue, links, *parse_config(kStart, "start.toml"));
  }
  std::string text_of_site(const Commissioned& site) {
    auto text = commissioned_text(site, kStart, from_ms(1'777'000'000'000));
    EXPECT_TRUE(text) << (text ? "" : text.error().what);
    return text ? *text : "";
  }
};

// Boxes, gauges; then for each zone name, box, valves, rating, on, off.
const std::string kWires = "A controller 18\nB A 100ft\n\n14\n18\n";
std::string zone_answers(const std::string& name, const std::string& box, const std::string& rest = "\n\n") {
  return name + "\n" + box + "\n1\n0.23\n" + rest;
}

TEST_F(Commissioning, ASoundSiteIsWrittenAsItWasAnswered) {
  const auto site =
      walk(kWires + zone_answers("Roses", "A") + zone_answers("", "B") + zone_answers("Hedge", "B"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  const std::string text = text_of_site(*site);
  const auto config = parse_config(text, "written");
  ASSERT_TRUE(config) << config.error().what;
  EXPECT_EQ(config->boxes.size(), 2U);
  EXPECT_NEAR(config->boxes[1].metres, 30.48, 0.01);
  EXPECT_EQ(config->zone(1)->name, "Roses");
  EXPECT_EQ(config->zone(3)->box, 1);
  EXPECT_EQ(config->zone(2)->name, "Zone 2");
  EXPECT_TRUE(config->sensors.empty());
  EXPECT_THAT(text, HasSubstr("0.231 A at commissioning"));
  EXPECT_THAT(text, HasSubstr("url = \"mqtt://192.168.1.10\"   # in the shed"))
      << "the rest stays as it stood";
  EXPECT_THAT(text, HasSubstr("[[notifier]]"));
  EXPECT_THAT(words.str(), HasSubstr("licensed"));
}

TEST_F(Commissioning, SwappedSensorsAreFoundAndMapped) {
  shows = {{1, {{3, 0.231}}}, {2, {{2, 0.229}}}, {3, {{1, 0.226}}}};
  const auto site = walk(kWires + zone_answers("", "A", "\nmap\n\n") + zone_answers("", "B") +
                         zone_answers("", "B", "\nmap\n\n"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_THAT(words.str(), HasSubstr("Zone 1 was switched on, and the sensor of zone 3 moved"));
  const auto config = parse_config(text_of_site(*site), "written");
  ASSERT_TRUE(config) << config.error().what;
  ASSERT_EQ(config->sensors.size(), 2U);
  EXPECT_EQ(config->sensors[0].topic, "coilward/birch-lane-7/measure/zone/3/current");
  EXPECT_EQ(config->sensors[0].channel, "zone/1/current");
}

TEST_F(Commissioning, SwappedPlugsMayBePutRightAtOnce) {
  shows[1] = {{3, 0.231}};
  const auto site = walk(kWires + zone_answers("", "A", "\nagain\n\n\nleave\n\n") + zone_answers("", "B") +
                         zone_answers("", "B"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_TRUE(site->config.sensors.empty());
  EXPECT_EQ(site->notes.at(1), "its sensor is another's");
}

TEST_F(Commissioning, MilliampsThatWereRefusedAreFound) {
  shows[2] = {};
  refused[2] = 231;
  const auto site =
      walk(kWires + zone_answers("", "A") + zone_answers("", "B", "\nyes\n\n") + zone_answers("", "B"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_THAT(words.str(), HasSubstr("gives milliamps"));
  ASSERT_EQ(site->config.sensors.size(), 1U);
  EXPECT_EQ(site->config.sensors[0].unit, "mA");
  EXPECT_EQ(site->notes.at(2), "0.231 A at commissioning");
}

TEST_F(Commissioning, TwiceThroughTheClampIsSaid) {
  shows[1] = {{1, 0.45}};
  const auto site =
      walk(kWires + zone_answers("", "A", "\nkeep\n\n") + zone_answers("", "B") + zone_answers("", "B"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_THAT(words.str(), HasSubstr("through the clamp twice"));
  EXPECT_THAT(site->notes.at(1), HasSubstr("not plausible"));
}

TEST_F(Commissioning, ADeadZoneIsSaidAndMayBeLeft) {
  shows[3] = {};
  const auto site =
      walk(kWires + zone_answers("", "A") + zone_answers("", "B") + zone_answers("", "B", "\nleave\n\n"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_THAT(words.str(), HasSubstr("No sensor moved within 5 s"));
}

TEST_F(Commissioning, AnswersThatEndWriteNothing) {
  const auto site = walk(kWires + "Roses\n");
  ASSERT_FALSE(site);
  EXPECT_THAT(site.error().what, HasSubstr("nothing was written"));
}

TEST_F(Commissioning, WrongAnswersAreAskedAgain) {
  const auto site =
      walk("A nowhere 18\nA controller far\nA controller 18\nA controller 3\n\n14\n18\n" +
           std::string("x\nQ\nA\n99\n1\nmuch\n0\n\n\n") + zone_answers("", "") + zone_answers("", "A"));
  ASSERT_TRUE(site) << site.error().what << words.str();
  EXPECT_EQ(site->config.boxes.size(), 1U);
  for (const char* said : {"no box 'nowhere'", "'far' is no length", "'A' is taken", "no box 'Q'",
                           "'99' is no number", "'much' is no number"})
    EXPECT_THAT(words.str(), HasSubstr(said));
}

TEST(CoilCheck, JudgesByRatingOrTheTradesRange) {
  using enum CoilVerdict;
  EXPECT_EQ(check_coil(0.23, 0.23, true), plausible);
  EXPECT_EQ(check_coil(0.30, 0.23, false), plausible);
  EXPECT_EQ(check_coil(0.46, 0.23, true), twice);
  EXPECT_EQ(check_coil(0.46, 0.23, false), twice);
  EXPECT_EQ(check_coil(0.115, 0.23, true), half);
  EXPECT_EQ(check_coil(231, 0.23, true), thousandfold);
  EXPECT_EQ(check_coil(0.00023, 0.23, false), thousandth);
  EXPECT_EQ(check_coil(0.9, 0.23, true), high);
  EXPECT_EQ(check_coil(0.05, 0.23, true), low);
}

TEST(CoilCheck, ExpectsLessBehindLongWire) {
  const auto site = [](const char* metres) {
    return *parse_config(
        fmt::format("[site]\nid = \"a\"\n[mqtt]\nurl = \"mqtt://x\"\n[[box]]\nid = \"A\"\nmetres = {}\n"
                    "[[zone]]\nnumber = 1\nbox = \"A\"\nhold_amps = 0.23\n",
                    metres),
        "site");
  };
  EXPECT_NEAR(expected_amps(site("5"), 1), 0.24, 0.01);
  EXPECT_LT(expected_amps(site("1200"), 1), 0.93 * expected_amps(site("5"), 1));
}

TEST(SensorMoves, TheRiseCountsNotTheLevel) {
  const LiveZones before = {{1, 0.02, from_ms(1)}, {2, 0.3, from_ms(1)}, {3, 0.0, from_ms(1)}};
  LiveZones now = {{1, 0.25, from_ms(2)}, {2, 0.31, from_ms(2)}, {3, 0.0, from_ms(2)}};
  ASSERT_EQ(moved_since(before, now).size(), 1U);
  EXPECT_EQ(judge_moves(moved_since(before, now), 1), MoveVerdict::own);
  EXPECT_EQ(judge_moves(moved_since(before, now), 3), MoveVerdict::other);
  now[2].amps = 0.22;
  EXPECT_EQ(judge_moves(moved_since(before, now), 1), MoveVerdict::together);
  EXPECT_EQ(judge_moves(moved_since(before, now), 2), MoveVerdict::others);
  now[0].time = from_ms(1);  // heard before
  EXPECT_EQ(judge_moves(moved_since(before, now), 3), MoveVerdict::own);
  EXPECT_EQ(judge_moves({}, 1), MoveVerdict::nothing);
}

}  // namespace
}  // namespace coilward
