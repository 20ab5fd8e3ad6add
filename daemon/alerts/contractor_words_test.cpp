#include <gmock/gmock.h>

#include "daemon/alerts/contractor_digest.h"
#include "daemon/alerts/every_message.h"

namespace coilward {
namespace {

using testing::HasSubstr;

TEST(Contractor, SeesAllSitesTheMostPressingFirst) {
  std::vector<Alert> alerts(3, every_alert()[0]);
  const char* sites[] = {"Birch Lane", "Elm Park", "Oak Court"};
  for (int i = 0; i < 3; ++i) {
    alerts[i].site = sites[i];
    alerts[i].site_name = sites[i];
    alerts[i].findings = {test_finding(4 + i)};
  }
  alerts[0].findings[0].severity = Severity::watch;
  alerts[1].findings[0].severity = Severity::urgent;
  alerts[2].findings[0].severity = Severity::urgent;
  alerts[2].findings[0].zones = {6, 7};
  const Spoken said = contractor_digest(alerts, to(Audience::contractor, Language::english), test_site());
  EXPECT_EQ(said.subject, "3 sites: 2 urgent, 0 soon, 1 to watch");
  const auto oak = said.text.find("Oak Court"), elm = said.text.find("Elm Park"),
             birch = said.text.find("Birch Lane");
  EXPECT_LT(oak, elm) << said.text;
  EXPECT_LT(elm, birch) << said.text;
  EXPECT_THAT(said.text,
              HasSubstr("urgent | Elm Park | Zone 5 | broken wire, splice or coil | 98 % | A to B | since "));
}

}  // namespace
}  // namespace coilward
