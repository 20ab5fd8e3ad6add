// What is said of a repair, to whom.
#include <gmock/gmock.h>

#include "daemon/alerts/every_message.h"
#include "daemon/alerts/reading_ease.h"

namespace coilward {
namespace {

using testing::HasSubstr;

// A finding whose repair was looked at: with its end, or with the news that it did not hold.
Alert of_a_repair(bool proved, std::vector<int> zones = {4}) {
  Finding f = test_finding(4);
  f.zones = std::move(zones);
  RepairProof proof;
  proof.marked = at_hours(4);
  proof.proved = proved;
  f.repair = proof;
  if (proved) f = ended(f, at_hours(5), "repaired: Zone 4 draws 0.230 A and should draw 0.214 to 0.248 A");
  Alert alert;
  alert.id = f.id + ".2";
  alert.kind = proved ? AlertKind::closed : AlertKind::worse;
  alert.site_name = "Juniper Row 12";
  alert.raised = at_hours(5);
  alert.findings = {f};
  alert.details = {{}};
  return alert;
}

TEST(Repair, ThatHeldIsSaidAtTheEnd) {
  const Alert one = of_a_repair(true), two = of_a_repair(true, {4, 7});
  EXPECT_EQ(first_line_of(one, Audience::technician, Language::english),
            "Repaired: Zone 4 (East hedge): it draws as it should again.");
  EXPECT_EQ(first_line_of(two, Audience::technician, Language::english),
            "Repaired: Zones 4 (East hedge) and 7: they draw as they should again.");
  EXPECT_EQ(first_line_of(one, Audience::technician, Language::spanish),
            "Reparado: Zona 4 (East hedge): consume otra vez lo que debe.");
  EXPECT_EQ(first_line_of(two, Audience::technician, Language::spanish),
            "Reparado: Zonas 4 (East hedge) y 7: consumen otra vez lo que deben.");
  EXPECT_EQ(first_line_of(one, Audience::homeowner, Language::english),
            "Repaired: East hedge (zone 4). All works as it should again.");
  EXPECT_EQ(first_line_of(one, Audience::homeowner, Language::spanish),
            "Arreglado: East hedge (zona 4). Todo funciona otra vez como debe.");
}

TEST(Repair, ThatHeldIsExplained) {
  const auto why = [](Language language) {
    return spoken(of_a_repair(true), to(Audience::technician, language), test_site()).text;
  };
  EXPECT_THAT(why(Language::english),
              HasSubstr("Why: repaired: Zone 4 draws 0.230 A and should draw 0.214 to 0.248 A.\n"));
  EXPECT_THAT(why(Language::spanish), HasSubstr("Motivo: reparada: consume otra vez lo normal.\n"));
}

TEST(Repair, ThatDidNotHoldIsSaidFirst) {
  const Alert alert = of_a_repair(false);
  EXPECT_THAT(first_line_of(alert, Audience::technician, Language::english),
              testing::StartsWith("Not repaired: Zone 4 (East hedge) is not watering"));
  EXPECT_THAT(first_line_of(alert, Audience::technician, Language::spanish),
              testing::StartsWith("Sin reparar: Zona 4 (East hedge) no riega"));
  EXPECT_EQ(first_line_of(alert, Audience::homeowner, Language::english),
            "The repair did not work. East hedge (zone 4) is not being watered.");
  EXPECT_EQ(first_line_of(alert, Audience::homeowner, Language::spanish),
            "El arreglo no funcionó. East hedge (zona 4) no recibe agua.");
}

TEST(Repair, IsToldToAHomeownerInPlainWords) {
  for (Language language : kLanguages)
    for (bool proved : {true, false}) {
      const Spoken said = spoken(of_a_repair(proved), to(Audience::homeowner, language), test_site());
      expect_plain(said);
      EXPECT_GE(reading_ease(said.text, language), 70) << said.text;
    }
}

}  // namespace
}  // namespace coilward
