#include <gmock/gmock.h>

#include "daemon/alerts/every_message.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Technician, SeesTheDrawInALine) {
  Alert alert = every_alert()[0];
  alert.findings[0] = test_finding(4);
  const auto text = spoken(alert, to(Audience::technician, Language::english), test_site()).text;
  EXPECT_THAT(text, HasSubstr("Draw, last 4 runs: ▇█▇▁ 0.230 to 0.002 A.\n"));
  const auto spanish = spoken(alert, to(Audience::technician, Language::spanish), test_site()).text;
  EXPECT_THAT(spanish, HasSubstr("Consumo, últimos 4 riegos: ▇█▇▁ de 0.230 a 0.002 A.\n"));
  EXPECT_THAT(spanish, HasSubstr("Dónde: entre la caja A y la caja B (61 %).\n"));
  EXPECT_THAT(spanish, HasSubstr("Siguiente prueba: Encienda la zona 4."));
  EXPECT_THAT(spanish, Not(HasSubstr("Zone 4 took no current"))) << "the diagnosis sums up in English";
}

TEST(Technician, SpanishEndsTooAndSaysWhy) {
  Alert alert = every_alert()[0];
  alert.kind = AlertKind::closed;
  alert.findings = {ended(test_finding(4), at_hours(5), "draws normally again")};
  const auto said = spoken(alert, to(Audience::technician, Language::spanish), test_site());
  EXPECT_EQ(said.subject, "[Juniper Row 12] Terminó: Zona 4 (East hedge): cable, empalme o bobina cortados");
  EXPECT_THAT(said.text, HasSubstr("Motivo: consume otra vez lo normal.\n"));
}

}  // namespace
}  // namespace coilward
