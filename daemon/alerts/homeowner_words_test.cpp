// A homeowner hears what it means, what to do and who knows, and no word of the trade.
#include <gmock/gmock.h>

#include "daemon/alerts/every_message.h"

namespace coilward {
namespace {

using testing::HasSubstr;

TEST(Homeowner, HearsNoWordOfTheTrade) {
  int texts = 0;
  for (Language language : kLanguages)
    for (const auto& alerts : {every_alert(), every_trouble()})
      for (const auto& alert : alerts)
        for (auto others : {std::vector<std::string>{}, {"Ben"}, {"Ben", "Carla"}}) {
          Listener listener = to(Audience::homeowner, language, others);
          listener.unanswered_h = others.size() == 2 ? 4 : 0;
          expect_plain(spoken(alert, listener, test_site()));
          expect_plain(spoken_digest({alert, alert}, at_hours(8), listener, test_site()));
          ++texts;
        }
  EXPECT_EQ(texts, 2 * 3 * (kFaults * 3 * 4 * 3 + 28));
}

// The list itself is no sieve with holes: what a technician hears is caught by it.
TEST(Homeowner, TheListKnowsTheTrade) {
  for (Language language : kLanguages)
    for (const auto& alert : every_alert())
      if (alert.kind == AlertKind::opened && alert.findings[0].fault != Fault::missed_run) {
        EXPECT_NE(jargon_in(spoken(alert, to(Audience::technician, language), test_site()).text), "");
      }
}

TEST(Homeowner, HearsWhatItMeansWhatToDoAndWhoKnows) {
  Alert alert = every_alert()[8 * 3];
  alert.findings[0] = test_finding(4);
  alert.kind = AlertKind::opened;
  alert.severity = Severity::urgent;
  alert.details = {{}};
  const Spoken said = spoken(alert, to(Audience::homeowner, Language::english), test_site());
  EXPECT_EQ(said.subject, "[Juniper Row 12] East hedge (zone 4) is not being watered");
  EXPECT_EQ(
      said.text,
      "East hedge (zone 4) is not being watered.\n"
      "This began Mon 4 May 2026 00:12 MDT.\n"
      "Plants there get no water until this is fixed. Pots and young plants suffer first.\n\n"
      "In dry weather, water there by hand. Leave the wires and the boxes in the ground alone, and do not "
      "dig there.\n\n"
      "Please see to it today.\n"
      "Ben gets this message too.\n");
  const Spoken es = spoken(alert, to(Audience::homeowner, Language::spanish, {}), test_site());
  EXPECT_EQ(es.subject, "[Juniper Row 12] East hedge (zona 4) no recibe agua");
  EXPECT_THAT(es.text, HasSubstr("Esto empezó lun 4 may 2026 00:12 MDT."));
  EXPECT_THAT(es.text, HasSubstr("léale este número: 20260504-061209-z4\n"));
}

// A trouble of the installation is never told to a homeowner as one of a valve.
TEST(Homeowner, HearsThatNoValveIsAtFaultWhenWeAreBlind) {
  for (const auto& alert : every_trouble())
    if (alert.trouble->lasting) {
      EXPECT_THAT(spoken(alert, to(Audience::homeowner, Language::english), test_site()).text,
                  HasSubstr("This is not a fault of your valves."));
      EXPECT_THAT(spoken(alert, to(Audience::homeowner, Language::spanish), test_site()).text,
                  HasSubstr("No es una falla de sus válvulas."));
    }
}

}  // namespace
}  // namespace coilward
