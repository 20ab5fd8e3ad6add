#include "daemon/alerts/wording.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/site_time.h"
#include "daemon/locate/locate.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

Alert worded(AlertKind kind, const Finding& finding, const Config& config = test_site()) {
  Alert alert;
  alert.kind = kind;
  word(alert, {{finding, true, 1, false}}, config);
  return alert;
}

std::vector<int> sentence_lengths(const std::string& text) {
  std::vector<int> lengths;
  const std::regex end(R"([.;:]\s+|\n)"), word(R"(\S+)");
  for (std::sregex_token_iterator it(text.begin(), text.end(), end, -1), last; it != last; ++it) {
    const std::string sentence = *it;
    const auto words = std::distance(std::sregex_iterator(sentence.begin(), sentence.end(), word), {});
    if (words > 0) lengths.push_back(static_cast<int>(words));
  }
  return lengths;
}

class EveryFault : public testing::TestWithParam<int> {
 protected:
  Fault fault() const { return static_cast<Fault>(GetParam()); }
  bool about_zones() const { return fault() != Fault::supply_low && fault() != Fault::supply_lost; }
};
INSTANTIATE_TEST_SUITE_P(Words, EveryFault, testing::Range(0, kFaults), [](const auto& each) {
  return std::string(fault_name(static_cast<Fault>(each.param)));
});

TEST_P(EveryFault, NamesTheZonesAndTheSite) {
  Finding f = test_finding(4, fault());
  f.zones = {4, 7};
  const Alert alert = worded(AlertKind::opened, f);
  EXPECT_THAT(alert.subject, HasSubstr("Juniper Row 12"));
  if (!about_zones()) return;
  EXPECT_THAT(alert.text, HasSubstr("Zones 4 (East hedge) and 7"));
  EXPECT_THAT(alert.subject, HasSubstr("Zones 4 (East hedge) and 7"));
}

TEST_P(EveryFault, ReadsSimply) {
  const Finding f = test_finding(4, fault());
  for (const std::string& text :
       {headline(f, test_site()), next_reading(f, test_site()), cautions(fault())}) {
    const auto lengths = sentence_lengths(text);
    int sum = 0;
    for (int words : lengths) {
      EXPECT_LE(words, 22) << text;
      sum += words;
    }
    EXPECT_LE(sum, 14 * static_cast<int>(lengths.size())) << text;
  }
}

TEST_P(EveryFault, SaysWhatToMeasureOrLookAtNext) {
  EXPECT_THAT(worded(AlertKind::opened, test_finding(4, fault())).text, HasSubstr("Next test: "));
  EXPECT_GT(next_reading(test_finding(4, fault()), test_site()).size(), 40u);
}

// The box that `coilward locate` names, so that alert and locate send nobody two ways.
TEST(NextTest, IsInTheBoxThatLocateProposes) {
  Config config = test_site(4);
  for (auto& zone : config.zones) {
    zone.wire = {0.823, 18, false};
    zone.box = 2;
  }
  config.boxes.push_back({"A", "controller", 20, -1});
  config.boxes.push_back({"B", "A", 20, 0});
  config.boxes.push_back({"C", "B", 20, 1});
  Finding finding = test_finding(4);
  finding.where = {{"B", "C", 0.4}};
  LocateInput input{config, finding, {{1, true, true}, {2, true, true}, {3, true, true}}, kNotMeasured, {}};
  const auto next = locate_fault(input).next;
  ASSERT_TRUE(next);
  EXPECT_EQ(next->at, "B");
  EXPECT_THAT(next_reading(finding, config), HasSubstr("Then measure the same in box B."));
}

TEST_P(EveryFault, CautionsWhoeverActsOnIt) {
  const std::string text = worded(AlertKind::opened, test_finding(4, fault())).text;
  if (fault() == Fault::missed_run) return;  // nobody touches a wire
  EXPECT_THAT(text, HasSubstr("Take care: "));
  const bool in_the_ground = about_zones() && fault() != Fault::sensor_fault && fault() != Fault::stuck_on;
  if (in_the_ground) {
    EXPECT_THAT(text, HasSubstr("Switch the zone off before you reach into a wet box."));
    EXPECT_THAT(text, HasSubstr("Have buried services located before you dig."));
    EXPECT_THAT(text, HasSubstr("Follow the local codes."));
  }
  EXPECT_THAT(text, HasSubstr("licensed electrician"));
}

TEST_P(EveryFault, SaysThatItIsOver) {
  const Finding f = ended(test_finding(4, fault()), at_hours(5));
  const Alert alert = worded(AlertKind::closed, f);
  EXPECT_THAT(alert.subject, HasSubstr("Over: "));
  EXPECT_THAT(alert.text, HasSubstr(std::string(fault_phrase(fault()))));
  EXPECT_THAT(alert.text, HasSubstr("It began Mon 4 May 2026 00:12 MDT and ended Mon 4 May 2026 05:12 MDT."));
}

TEST(Wording, AmpsAreToldToTheMilliampere) {
  Finding f = test_finding(4);
  for (const auto& [amps, said] : {std::pair{0.000571, "0.001 A"}, {-0.0002, "0.000 A"}, {1.25, "1.250 A"}}) {
    f.evidence.front().observed = amps;
    EXPECT_THAT(worded(AlertKind::opened, f).text, HasSubstr(std::string("Measured: ") + said + " on"));
  }
}

TEST(Wording, OfAnOpenCircuit) {
  const Alert alert = worded(AlertKind::opened, test_finding(4));
  EXPECT_EQ(alert.subject,
            "[Juniper Row 12] Zone 4 (East hedge) is not watering: its wire, a splice or its coil is broken");
  EXPECT_THAT(alert.text, HasSubstr("Since: Mon 4 May 2026 00:12 MDT. How sure: 98 in 100.\n"));
  EXPECT_THAT(alert.text, HasSubstr("Where: between box A and box B (61 %).\n"));
  EXPECT_THAT(alert.text, HasSubstr("Measured: 0.002 A on zone/4/current. Normal is 0.214 to 0.248 A.\n"));
  EXPECT_THAT(alert.text, HasSubstr("24 to 28 volts"));
  EXPECT_THAT(alert.text, HasSubstr("About 35 volts"));
  EXPECT_THAT(alert.text, HasSubstr("0.3 volts or less"));
  EXPECT_THAT(alert.text, HasSubstr("coilward acknowledge 20260504-061209-z4-open_circuit"));
  EXPECT_THAT(alert.text, Not(HasSubstr("It could also be"))) << "0.4 % is not worth naming";
}

TEST(Wording, AHostileNameStaysOnOneLine) {
  Config config = test_site();
  config.zones[3].name = "East\r\nBcc: all@example.org";
  const Alert alert = worded(AlertKind::opened, test_finding(4), config);
  EXPECT_EQ(alert.subject.find_first_of("\r\n"), std::string::npos);
  EXPECT_EQ(one_line("\xC3\xBC\xC3\xBC", 3), "\xC3\xBC");
}

TEST(Wording, AWithdrawnFindingIsTakenBack) {
  const Alert alert = worded(AlertKind::closed, ended(test_finding(4), at_hours(1), "withdrawn"));
  EXPECT_THAT(alert.subject, HasSubstr("Taken back: Zone 4 (East hedge)"));
}

TEST(Wording, ATestSaysSo) {
  const Alert alert = test_alert(test_site(), test_start());
  EXPECT_THAT(alert.subject, HasSubstr("TEST"));
  EXPECT_EQ(alert.kind, AlertKind::test);
}

TEST(Zones, InWords) {
  const Config config = test_site();
  EXPECT_EQ(zones_in_words({4}, config), "Zone 4 (East hedge)");
  EXPECT_EQ(zones_in_words({1, 2, 3}, config), "Zones 1, 2 and 3");
  EXPECT_EQ(zones_in_words({1, 2, 3, 4, 5}, config), "Zones 1 to 5");
  EXPECT_EQ(zones_in_words({1, 2, 3, 4, 7}, config), "Zones 1, 2, 3, 4 and 7");
  EXPECT_EQ(zones_in_words({kMasterZone}, config), "The master valve");
  EXPECT_EQ(zones_in_words({kMasterZone, 1}, config), "Outputs the master valve and 1");
  EXPECT_EQ(zones_in_words({200}, config), "Zone 200") << "not in the configuration";
}

TEST(SiteTime, FollowsTheSitesClockThroughBothChanges) {
  const auto at = [](const char* utc, const char* zone) {
    return site_clock_time(*parse_rfc3339(utc), zone);
  };
  EXPECT_EQ(at("2026-03-08T08:59:59.999Z", "America/Boise"), "01:59 MST");
  EXPECT_EQ(at("2026-03-08T09:00:00Z", "America/Boise"), "03:00 MDT");
  EXPECT_EQ(at("2026-11-01T07:30:00Z", "America/Boise"), "01:30 MDT");
  EXPECT_EQ(at("2026-11-01T08:30:00Z", "America/Boise"), "01:30 MST");
  EXPECT_EQ(at("2026-07-01T00:00:00Z", "Australia/Lord_Howe"), "10:30 +1030");
  EXPECT_EQ(at("2026-07-01T00:00:00Z", "No/Such"), "00:00 UTC");
}

}  // namespace
}  // namespace coilward
